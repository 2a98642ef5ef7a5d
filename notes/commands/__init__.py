"""One file a command, named as it is typed: parse options, call, print."""
