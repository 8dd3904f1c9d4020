"""What state and pattern say together: distances, swatches, needles, the partner, the stitch."""
