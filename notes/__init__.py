"""tapeside: from a coach's spoken review to each athlete's fault log."""

__version__ = "0.1.0"
