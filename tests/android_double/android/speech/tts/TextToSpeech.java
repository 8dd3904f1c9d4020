package android.speech.tts;

import android.content.Context;
import android.os.Bundle;
import java.util.ArrayList;
import java.util.Collections;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Locale;
import java.util.Set;

/**
 * Stands in for the engine of a phone: it starts after a moment, "speaks" in real time without a sound
 * and calls back from threads of its own, as the documentation of the class says.
 */
public class TextToSpeech {
    public interface OnInitListener { void onInit(int status); }
    public interface OnUtteranceCompletedListener { void onUtteranceCompleted(String utteranceId); }

    /** What tests set before, and look at afterwards. */
    public static int initStatus = 0;
    public static int languageStatus = 0;
    public static int speakStatus = 0;
    public static boolean networkOnly = false;
    public static boolean networkFirst = false;
    public static final List<String> log = Collections.synchronizedList(new ArrayList<>());

    private OnUtteranceCompletedListener listener;
    private Voice voice;
    private float rate = 1.0f;
    private Thread speaking;
    private boolean started = false;

    public static void reset() {
        initStatus = languageStatus = speakStatus = 0;
        networkOnly = networkFirst = false;
        log.clear();
    }

    public TextToSpeech(Context context, OnInitListener ready) {
        voice = new Voice(Locale.US, networkOnly || networkFirst, Set.of());
        log.add("engine started");
        Thread thread = new Thread(() -> {
            pause(30);
            started = initStatus == 0;
            ready.onInit(initStatus);
        });
        thread.setDaemon(true);
        thread.start();
    }

    public int setLanguage(Locale locale) { return languageStatus; }
    public int setSpeechRate(float rate) { this.rate = rate; return 0; }
    public Voice getVoice() { return voice; }

    public Set<Voice> getVoices() {
        Set<Voice> all = new LinkedHashSet<>();
        all.add(new Voice(Locale.US, true, Set.of()));
        if (!networkOnly) {
            all.add(new Voice(Locale.GERMANY, false, Set.of()));
            all.add(new Voice(Locale.US, false, Set.of("notInstalled")));
            all.add(new Voice(Locale.UK, false, Set.of()));
        }
        return all;
    }

    public int setVoice(Voice voice) {
        this.voice = voice;
        log.add("voice " + voice.getLocale() + " " + voice.getFeatures());
        return 0;
    }

    public int setOnUtteranceCompletedListener(OnUtteranceCompletedListener listener) {
        this.listener = listener;
        return 0;
    }

    public synchronized int speak(CharSequence text, int queueMode, Bundle params, String utteranceId) {
        if (!started || speakStatus != 0) {
            return -1;
        }
        stop();
        log.add("speak " + rate + " " + text);
        long millis = (long) (3 * text.length() / rate);
        speaking = new Thread(() -> {
            pause(millis);
            synchronized (this) {
                if (speaking == Thread.currentThread()) {
                    speaking = null; // It has ended before anybody hears of it: there is nothing to stop.
                }
            }
            if (listener != null) {
                listener.onUtteranceCompleted(utteranceId);
            }
        });
        speaking.setDaemon(true);
        speaking.start();
        return 0;
    }

    public synchronized int stop() {
        if (speaking != null && speaking.isAlive()) {
            log.add("stop");
            speaking.interrupt();
        }
        speaking = null;
        return 0;
    }

    public void shutdown() {
        stop();
        log.add("shut down");
    }

    private static void pause(long millis) {
        try {
            Thread.sleep(millis);
        } catch (InterruptedException interrupted) {
            // The engine goes on to report the end of what was stopped.
        }
    }
}
