package android.content;

import android.net.Uri;

/** A wish that the system is asked to carry out. */
public class Intent {
    private final String action;
    private final Uri data;

    public Intent(String action, Uri data) {
        this.action = action;
        this.data = data;
    }

    public String getAction() { return action; }
    public Uri getData() { return data; }
}
