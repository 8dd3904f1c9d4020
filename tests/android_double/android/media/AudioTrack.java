package android.media;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;

/** Stands in for a static track: it "plays" what was written in real time, without a sound. */
public class AudioTrack {
    /** What tests set before, and look at afterwards. */
    public static boolean stuck = false;
    public static boolean broken = false;
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    private final int rate;
    private int bytes = 0;
    private long began = 0;
    private boolean released = false;

    public AudioTrack(AudioAttributes attributes, AudioFormat format, int bufferSize, int mode, int session) {
        rate = format.rate;
    }

    public static void reset() {
        stuck = broken = false;
        log.clear();
    }

    public int write(byte[] data, int offset, int length) {
        bytes = broken ? 0 : length;
        log.add("write " + length + " " + data[offset + 100]);
        return broken ? -3 : length;
    }

    public int getState() { return bytes > 0 ? 1 : 2; }

    public void play() {
        if (released) {
            throw new IllegalStateException("play() called on a released AudioTrack.");
        }
        began = System.nanoTime();
        log.add("play");
    }

    public int getPlaybackHeadPosition() {
        if (stuck) {
            return 0;
        }
        return (int) Math.min(bytes / 2, (System.nanoTime() - began) * rate / 1_000_000_000L);
    }

    public void stop() { log.add("stop"); }

    public void release() {
        released = true;
        log.add("release");
    }
}
