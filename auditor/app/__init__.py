"""What each command does, as one library call, and the pipeline of an audit, which they share with the evidence."""
