package android.media;

/** How the samples of a track are written. */
public class AudioFormat {
    final int rate;

    AudioFormat(int rate) { this.rate = rate; }

    public static class Builder {
        private int rate;

        public Builder setEncoding(int encoding) { return this; }
        public Builder setSampleRate(int rate) { this.rate = rate; return this; }
        public Builder setChannelMask(int mask) { return this; }
        public AudioFormat build() { return new AudioFormat(rate); }
    }
}
