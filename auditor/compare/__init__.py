"""Expected against observed: differences, what they mean, and a verdict for every planned setting."""
