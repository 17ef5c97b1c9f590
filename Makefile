# One word checks everything: make check.  PYTHON is that of the virtual environment.
PYTHON ?= .venv/bin/python
BIN := $(dir $(PYTHON))

.PHONY: check lint types imports test
check: lint types imports test

lint:
	$(BIN)ruff check .
	$(BIN)ruff format --check .

types:
	$(BIN)mypy

imports:
	$(BIN)lint-imports

test:
	$(PYTHON) -m pytest
