# Everything runs in .venv from the lock file; nothing else is needed but Python 3.11 or newer and make.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: setup demo test bench check format evaluate lock clean

setup: .venv/ready

.venv/ready: requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "tapeside needs Python 3.11 or newer; name one: make PYTHON=python3.12")'
	$(PYTHON) -m venv .venv
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/pip install --quiet --disable-pip-version-check --no-build-isolation --no-deps --editable .
	@touch $@

demo: setup
	@$(BIN)/tapeside demo

test: setup
	$(BIN)/pytest

bench: setup
	PYTHONPATH=tests/evaluation $(BIN)/python tests/benchmark/reading.py

evaluate: setup
	$(BIN)/python tests/evaluation/evaluate.py work
	$(BIN)/python tests/evaluation/evaluate.py tune
	$(BIN)/python tests/evaluation/evaluate.py blind
	$(BIN)/python tests/evaluation/calibrate.py blind
	$(BIN)/python tests/evaluation/growth.py

check: setup
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/tapeside lexicon check

format: setup
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

# Needs uv; run after changing the dependencies in pyproject.toml.
lock:
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
	  --extra dev --extra light pyproject.toml -o requirements.lock

clean:
	rm -rf .venv build dist
