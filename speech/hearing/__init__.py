"""From sound to what was meant: microphone, gate, recogniser, judgement."""
