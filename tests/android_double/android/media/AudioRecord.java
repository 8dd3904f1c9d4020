package android.media;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;

/** Stands in for the microphone of a phone: it "records" a staircase in real time. */
public class AudioRecord {
    /** What tests set before, and look at afterwards. */
    public static boolean denied = false;
    public static boolean lost = false;
    public static boolean silenced = false;
    /** Sound that is handed out as fast as it is read, in place of the staircase; then zeros. */
    public static byte[] fed = null;
    public static int at = 0;
    /** Whether a quiet room hisses a little, as all do, or gives zeros. */
    public static boolean hisses = false;
    public static int open = 0;
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    private static final Random noise = new Random(7);
    private final int bytesPerSecond;
    private boolean recording = false;

    public AudioRecord(int source, int rate, int channels, int encoding, int bufferSize) {
        log.add("opened " + source + " " + rate + " " + channels + " " + encoding + " " + bufferSize);
        bytesPerSecond = 2 * rate;
    }

    public static void reset() {
        denied = lost = silenced = hisses = false;
        fed = null;
        at = open = 0;
        log.clear();
    }

    public static int getMinBufferSize(int rate, int channels, int encoding) { return rate / 25 * 2; }
    public int getState() { return denied ? 0 : 1; }
    public void stop() { recording = false; }

    public void startRecording() {
        recording = true;
        open++;
    }

    public AudioRecordingConfiguration getActiveRecordingConfiguration() {
        return recording ? new AudioRecordingConfiguration() : null;
    }

    /** Give the sound of these samples, from their beginning. */
    public static synchronized void feed(byte[] samples) {
        at = 0;
        fed = samples;
    }

    private static synchronized int played(byte[] data, int offset, int length) {
        int given = fed == null ? 0 : Math.min(length, fed.length - at);
        if (given > 0) {
            System.arraycopy(fed, at, data, offset, given);
            at += given;
        }
        return given;
    }
    public void release() {
        open = 0;
        log.add("release");
    }

    /** Little-endian 16-bit samples 0, 256, 512, ... and then again, as long as they take to record. */
    public int read(byte[] data, int offset, int length) {
        if (lost || !recording) {
            return -3; // ERROR_INVALID_OPERATION
        }
        int given = silenced ? 0 : played(data, offset, length);
        if (given > 0) {
            return given;
        }
        for (int byteAt = 0; byteAt < length; byteAt += 2) {
            int sample = fed == null ? 256 * (byteAt / 2 % 64) : hisses ? noise.nextInt(61) - 30 : 0;
            data[offset + byteAt] = (byte) (silenced ? 0 : sample);
            data[offset + byteAt + 1] = (byte) (silenced ? 0 : sample >> 8);
        }
        try {
            Thread.sleep(1000L * length / bytesPerSecond);
        } catch (InterruptedException interrupted) {
            return -3;
        }
        return length;
    }
}
