"""Errors a user can mend. `cli` turns each into one line on stderr and exit code 2."""


class TapesideError(Exception):
    """Bad input or a bad surrounding; the message is one sentence with the place, the fault and the mend."""


class BadRecording(TapesideError):
    """The sound or video cannot be read."""


class BadTranscript(TapesideError):
    """The transcript or caption file cannot be read."""


class BadSheet(TapesideError):
    """The sheet is missing, malformed or contradicts itself."""


class BadModel(TapesideError):
    """The speech model cannot be found or is damaged."""


class BadHome(TapesideError):
    """The data home cannot be read or written, or holds a database this version cannot use."""


class BadBackup(TapesideError):
    """The backup is damaged, foreign or newer, or cannot be written."""


class UnknownAthlete(TapesideError):
    """No athlete in the log has this name or alias."""


class BadLexicon(TapesideError):
    """The owner's vocabulary file is wrong."""


class BadCorrection(TapesideError):
    """A person's word on an observation names something that is not there, or not possible."""
