"""What goes wrong with a lexicon file."""


class LexiconError(Exception):
    """A vocabulary file is wrong; the message names the file and line and says how to mend it."""
