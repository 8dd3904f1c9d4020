package android.os;

/** Parameters of an utterance; never given. */
public class Bundle {}
