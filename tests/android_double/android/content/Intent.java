package android.content;

/** Stands in for a request to the system. */
public class Intent {
    private final String action;
    private final android.net.Uri data;
    private int flags = 0;

    public Intent(String action, android.net.Uri data) {
        this.action = action;
        this.data = data;
    }

    public Intent addFlags(int more) {
        flags |= more;
        return this;
    }

    @Override
    public String toString() { return action + " " + data + " " + Integer.toHexString(flags); }
}
