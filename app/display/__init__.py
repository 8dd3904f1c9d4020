"""What every screen shows, worked out as plain values: words, numbers, places; no Kivy."""
