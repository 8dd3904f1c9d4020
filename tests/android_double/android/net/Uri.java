package android.net;

/** Stands in for an address. */
public class Uri {
    private final String text;

    private Uri(String text) { this.text = text; }

    public static Uri fromParts(String scheme, String part, String fragment) {
        return new Uri(scheme + ":" + part);
    }

    @Override
    public String toString() { return text; }
}
