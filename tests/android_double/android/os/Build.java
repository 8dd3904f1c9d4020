package android.os;

/** Which Android this is. */
public class Build {
    public static class VERSION {
        public static int SDK_INT = 33;
    }
}
