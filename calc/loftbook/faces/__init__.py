"""Where the core meets the world: answers as HTML, hand-outs, the terminal command, the browser's door."""
