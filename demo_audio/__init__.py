"""The demo: made-up narration, memo, drawn footage and their sheets; `make_demo.py` makes them."""
