package android.content.res;

/** What she has set on the device. */
public class Configuration {
    public float fontScale = 1f;
}
