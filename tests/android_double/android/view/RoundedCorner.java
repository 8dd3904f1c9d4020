package android.view;

/** A corner of the screen. */
public class RoundedCorner {
    private final int radius;

    public RoundedCorner(int position, int radius, int x, int y) { this.radius = radius; }

    public int getRadius() { return radius; }
}
