# Everything runs in .venv from the lock file; nothing else is needed but Python 3.11 or newer and make.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: setup demo test bench bench-search bench-speech kill check format evaluate train lock clean

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
	$(BIN)/python tests/benchmark/clips.py
	$(BIN)/python tests/benchmark/claims.py
	$(SEARCHED)/evaluation/search/quality.py
	$(SEARCHED)/benchmark/search.py 10000 100000

# A log of a million notes too; building it takes long.
SEARCHED = PYTHONPATH=tests/evaluation:tests/evaluation/search:tests/benchmark $(BIN)/python tests
bench-search: setup
	$(SEARCHED)/benchmark/search.py 10000 100000 1000000

kill: setup
	PYTHONPATH=. $(BIN)/python tests/benchmark/kill.py 200 1

# Makes its sound once, in build/, and keeps what it heard there, so that it can be interrupted; hours on two cores.
# Needs npm for the packed voices.
bench-speech: setup
	$(BIN)/pip install --quiet --editable '.[bench]'
	mkdir -p build/speech
	test -f build/speech/kokoro-js-1.2.1.tgz || npm pack --silent --pack-destination build/speech kokoro-js@1.2.1
	PYTHONPATH=tests/evaluation $(BIN)/python tests/benchmark/speech.py build/speech/kokoro-js-1.2.1.tgz

evaluate: setup
	$(BIN)/python tests/evaluation/evaluate.py tune
	$(BIN)/python tests/evaluation/evaluate.py blind
	$(BIN)/python tests/evaluation/evaluate.py last
	$(BIN)/python tests/evaluation/evaluate.py fresh
	$(BIN)/python tests/evaluation/ablation.py blind
	$(BIN)/python tests/evaluation/calibrate.py blind
	$(BIN)/python tests/evaluation/growth.py
	$(BIN)/python tests/evaluation/learned.py

# Learns again from the corpus: minutes with a GPU, most of a day on two cores.
MODEL := notes/reading/second/model
LEARN := PYTHONPATH=tests/evaluation:tests/training:tests/benchmark $(BIN)/python tests/training
train: setup
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements-train.lock
	mkdir -p build/train
	$(LEARN)/examples.py build/train/examples.json work train added tune blind
	$(LEARN)/train.py build/train/examples.json build/train/first
	$(LEARN)/export.py build/train/examples.json build/train/first $(MODEL)
	$(LEARN)/train.py build/train/examples.json build/train/second --on $(MODEL) --folds 3
	$(LEARN)/export.py build/train/examples.json build/train/second $(MODEL)
	$(LEARN)/merge.py build/train/second/fold*.npz build/train/second/tune.npz --out $(MODEL)/merging.json
	$(LEARN)/remember.py $(MODEL)/corpus.npz
	$(LEARN)/ends.py notes/speech/ends.npz

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
	  --extra dev --extra light --extra parquet --extra desk --extra record pyproject.toml -o requirements.lock
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
	  --extra train --constraint requirements.lock pyproject.toml -o requirements-train.lock

clean:
	rm -rf .venv build dist
