"""The window: everything that needs Kivy."""
