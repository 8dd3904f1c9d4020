package android.media;

/** Who gets the sound of a microphone that several programs have opened. */
public class AudioRecordingConfiguration {
    public boolean isClientSilenced() { return AudioRecord.silenced; }
}
