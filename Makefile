# Two commands do everything: `make demo` and `make test`. Both make their own .venv first.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: demo test setup format bench clean

$(VENV)/.ready: requirements.lock pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@

setup: $(VENV)/.ready

demo: setup
	$(BIN)/python demo/run.py --out demo/out

test: setup
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python tools/ensure_browser.py
	$(BIN)/pytest -n 2 --dist loadfile --ignore=tests/web_browser
	$(BIN)/pytest tests/web_browser

format: setup
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

bench: setup
	$(BIN)/python benchmarks/run.py

clean:
	rm -rf $(VENV) demo/out demo/pictures benchmarks/out tests/out
