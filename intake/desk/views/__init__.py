"""Pages of the desk: read a form, call one service or selector, render."""
