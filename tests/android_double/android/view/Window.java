package android.view;

/** The window of the running activity. */
public class Window {
    public static View decor = new View(0, 0, 1080, 2340);

    public View getDecorView() { return decor; }
}
