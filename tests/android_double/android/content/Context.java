package android.content;

/** Stands in for the running activity. */
public class Context {}
