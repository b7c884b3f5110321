# Everything a person or CI needs. Only python3 (3.11 to 3.14), make and a network for the first run are assumed.
#
#   make run     set up, then the demo: one service call end to end
#   make test    set up, then every check there is
#   make bench   set up, then every benchmark (a minute or more; quiet machine, please)
#   make wheel   set up, then the installable package with all the app needs, in dist

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PYTEST_ARGS ?= -n auto --dist loadgroup

export PIP_DISABLE_PIP_VERSION_CHECK := 1
export PIP_ROOT_USER_ACTION := ignore

.DEFAULT_GOAL := help
.PHONY: help run test lint bench wheel clean

help:
	@sed -n 's/^#   make /make /p' Makefile

$(VENV)/made: scripts/make-venv
	@scripts/make-venv $(VENV) $(PYTHON)
	@touch $@

$(VENV)/runnable: $(VENV)/made pyproject.toml src/holdcold/web/vendor.toml
	@$(BIN)/python -m pip install --quiet --editable .
	@$(BIN)/python scripts/vendor-web
	@touch $@

$(VENV)/testable: $(VENV)/made pyproject.toml tests/system-packages.txt src/holdcold/web/vendor.toml
	@scripts/system-packages tests/system-packages.txt
	@$(BIN)/python -m pip install --quiet --editable '.[test]'
	@$(BIN)/python scripts/vendor-web --tests
	@touch $@ $(VENV)/runnable

run: $(VENV)/runnable
	@$(BIN)/holdcold demo

lint: $(VENV)/testable
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-logo --no-cache

# pytest comes last: its closing line is the verdict.
test: lint
	@$(BIN)/python -m pytest $(PYTEST_ARGS)

bench: $(VENV)/testable
	@for script in benchmarks/[!_]*.py; do echo "== $$script"; $(BIN)/python "$$script" || exit 1; done

wheel: $(VENV)/runnable
	@$(BIN)/python -m pip wheel --quiet --no-deps --wheel-dir dist .

clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis build dist
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
