"""The plan: what a network should be. From a file to checked data, and from there to expected settings a device."""
