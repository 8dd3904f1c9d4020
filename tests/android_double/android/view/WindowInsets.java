package android.view;

import android.graphics.Insets;

/** What covers a window, as tests want it. */
public class WindowInsets {
    public static Insets bars = Insets.of(0, 0, 0, 0);
    public static Insets cutout = Insets.of(0, 0, 0, 0);
    public static int radius = 0;

    public Insets getInsets(int types) {
        Insets of = Insets.of(0, 0, 0, 0);
        for (Insets one : new Insets[] {(types & 0b111) != 0 ? bars : of, (types & 128) != 0 ? cutout : of}) {
            of = Insets.of(Math.max(of.left, one.left), Math.max(of.top, one.top),
                Math.max(of.right, one.right), Math.max(of.bottom, one.bottom));
        }
        return of;
    }

    public RoundedCorner getRoundedCorner(int position) {
        return radius == 0 ? null : new RoundedCorner(position, radius, radius, radius);
    }
}
