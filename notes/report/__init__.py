"""What leaves: texts made from the log."""
