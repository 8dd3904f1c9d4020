package org.kivy.android;

import android.content.Intent;
import android.content.res.Resources;
import android.view.View;
import android.view.Window;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;

/** Stands in for the running activity of the program's own package. */
public class PythonActivity extends android.content.Context {
    public static final PythonActivity mActivity = new PythonActivity();
    /** What tests set before, and look at afterwards. */
    public static boolean granted = true;
    public static View content = new View(0, 0, 1080, 2340);
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    private final Resources resources = new Resources();

    public static void reset() {
        granted = true;
        content = new View(0, 0, 1080, 2340);
        log.clear();
    }

    public int checkSelfPermission(String permission) { return granted ? 0 : -1; }
    public String getPackageName() { return "org.walesong.walesong"; }
    public Resources getResources() { return resources; }
    public Window getWindow() { return new Window(); }
    public View findViewById(int id) { return id == 0x01020002 ? content : null; }

    public void requestPermissions(String[] permissions, int request) {
        log.add("asked for " + String.join(" ", permissions));
    }

    public void startActivity(Intent intent) {
        log.add("started " + intent.getAction() + " " + intent.getData());
    }

    public boolean moveTaskToBack(boolean nonRoot) {
        log.add("went behind " + nonRoot);
        return true;
    }
}
