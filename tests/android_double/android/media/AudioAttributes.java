package android.media;

/** What a track is for. */
public class AudioAttributes {
    public static class Builder {
        public Builder setUsage(int usage) { return this; }
        public Builder setContentType(int type) { return this; }
        public AudioAttributes build() { return new AudioAttributes(); }
    }
}
