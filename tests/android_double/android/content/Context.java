package android.content;

/** Stands in for the running activity. */
public class Context {
    public Object getSystemService(String name) {
        return "audio".equals(name) ? new android.media.AudioManager() : null;
    }
}
