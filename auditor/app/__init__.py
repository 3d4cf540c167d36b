"""What each command does, as one library call: the pipeline, a round over devices, the demo, expected settings."""
