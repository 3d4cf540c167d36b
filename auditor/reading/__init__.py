"""From captured text to typed rows, and an account of what became of each line."""
