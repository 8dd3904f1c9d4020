"""A piece being knitted: the talk about it, what steers it, the thread that runs it."""
