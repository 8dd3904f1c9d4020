package android.graphics;

/** What is covered at each edge. */
public class Insets {
    public final int left, top, right, bottom;

    private Insets(int left, int top, int right, int bottom) {
        this.left = left;
        this.top = top;
        this.right = right;
        this.bottom = bottom;
    }

    public static Insets of(int left, int top, int right, int bottom) {
        return new Insets(left, top, right, bottom);
    }
}
