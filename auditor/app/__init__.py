"""What each command does, as one library call: the pipeline, a run over devices, the demo, expected settings."""
