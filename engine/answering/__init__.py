"""What is answered: to a command, and to questions about hand, hours, yarn, partner and swatch."""
