"""Make the demo recordings, footage and sheets from script.yaml.

    python make_demo.py --voices kokoro-js-1.2.1.tgz [--only speech footage sheets]

Everything said, and every move drawn, stands in script.yaml; the files beside this one
only know how to say and draw it: words.py reads it, sheets.py, speaking.py and footage.py
make what it asks for. Nothing is left to chance except through fixed seeds, so a second
run gives the same words at the same places.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from footage import make_footage
from sheets import make_sheets
from speaking import make_speech
from words import ScriptError, read_script

HERE = Path(__file__).resolve().parent


def main(argv: Sequence[str] | None = None) -> int:
    """Make what is asked for; a script that cannot be made ends with status 1."""
    parser = argparse.ArgumentParser(description="Make the demo material from script.yaml.")
    parser.add_argument("--script", type=Path, default=HERE / "script.yaml")
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write to")
    parser.add_argument("--voices", type=Path, help="kokoro-js-1.2.1.tgz (needed for speech)")
    kinds = ("speech", "footage", "sheets")
    parser.add_argument("--only", nargs="+", choices=kinds, default=list(kinds))
    options = parser.parse_args(argv)
    if "speech" in options.only and options.voices is None:
        parser.error("speech needs --voices kokoro-js-1.2.1.tgz (README.md says how to get it)")
    script = read_script(options.script)
    try:
        if "sheets" in options.only:
            make_sheets(script, options.out)
        if "speech" in options.only:
            make_speech(script, options.out, options.voices)
        if "footage" in options.only:
            make_footage(script, options.out)
    except ScriptError as problem:
        print(problem, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
