"""What is kept: one SQLite database in the data home."""
