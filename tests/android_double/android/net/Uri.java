package android.net;

/** Names what an intent is about. */
public class Uri {
    private final String text;

    private Uri(String text) { this.text = text; }

    public static Uri fromParts(String scheme, String part, String fragment) {
        return new Uri(scheme + ":" + part + (fragment == null ? "" : "#" + fragment));
    }

    @Override public String toString() { return text; }
}
