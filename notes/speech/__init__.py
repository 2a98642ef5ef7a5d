"""Sound to timed words."""
