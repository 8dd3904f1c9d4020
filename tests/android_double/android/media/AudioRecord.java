package android.media;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;

/** Stands in for the microphone of a phone: it "records" a staircase in real time. */
public class AudioRecord {
    /** What tests set before, and look at afterwards. */
    public static boolean denied = false;
    public static boolean lost = false;
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    private final int bytesPerSecond;
    private boolean recording = false;

    public AudioRecord(int source, int rate, int channels, int encoding, int bufferSize) {
        log.add("opened " + source + " " + rate + " " + channels + " " + encoding + " " + bufferSize);
        bytesPerSecond = 2 * rate;
    }

    public static void reset() {
        denied = lost = false;
        log.clear();
    }

    public static int getMinBufferSize(int rate, int channels, int encoding) { return rate / 25 * 2; }
    public int getState() { return denied ? 0 : 1; }
    public void startRecording() { recording = true; }
    public void stop() { recording = false; }
    public void release() { log.add("release"); }

    /** Little-endian 16-bit samples 0, 256, 512, ... and then again, as long as they take to record. */
    public int read(byte[] data, int offset, int length) {
        if (lost || !recording) {
            return -3; // ERROR_INVALID_OPERATION
        }
        for (int at = 0; at < length; at += 2) {
            data[offset + at] = 0;
            data[offset + at + 1] = (byte) (at / 2 % 64);
        }
        try {
            Thread.sleep(1000L * length / bytesPerSecond);
        } catch (InterruptedException interrupted) {
            return -3;
        }
        return length;
    }
}
