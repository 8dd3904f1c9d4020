"""Where the parts are put together: words, voice, listening and assistant."""
