"""Where captures come from. A source answers for one device at a time; a device that fails is an answer, too."""
