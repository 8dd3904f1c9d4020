package android.media;

/** Says what the telephone is doing, as tests want it. */
public class AudioManager {
    public static int mode = 0;

    public int getMode() { return mode; }
}
