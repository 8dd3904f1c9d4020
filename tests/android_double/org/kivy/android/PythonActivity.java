package org.kivy.android;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;

/** Stands in for the running activity of the program's own package. */
public class PythonActivity extends android.content.Context {
    public static final PythonActivity mActivity = new PythonActivity();
    /** What tests set before, and look at afterwards. */
    public static boolean granted = true;
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    public static void reset() {
        granted = true;
        log.clear();
    }

    public int checkSelfPermission(String permission) { return granted ? 0 : -1; }

    public void requestPermissions(String[] permissions, int request) {
        log.add("asked for " + String.join(" ", permissions));
    }
}
