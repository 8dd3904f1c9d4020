package android.content.res;

/** Leads to what she has set on the device. */
public class Resources {
    private final Configuration configuration = new Configuration();

    public Configuration getConfiguration() { return configuration; }
}
