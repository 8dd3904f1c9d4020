package android.view;

/** A part of the screen, as tests want it. */
public class View {
    private final int left, top, width, height;

    public View(int left, int top, int width, int height) {
        this.left = left;
        this.top = top;
        this.width = width;
        this.height = height;
    }

    public int getWidth() { return width; }
    public int getHeight() { return height; }
    public WindowInsets getRootWindowInsets() { return new WindowInsets(); }

    public void getLocationInWindow(int[] at) {
        at[0] = left;
        at[1] = top;
    }
}
