"""Drawings on the screen: values of `app.drawings` and `app.display` drawn by Kivy."""
