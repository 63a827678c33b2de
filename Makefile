# `make demo` serves the demo, `make test` runs every test this machine can run.
# Both prepare .venv first; they install again only when what is to be installed has changed.

PYTHON ?= python3
PORT ?= 8000
HOST ?= 127.0.0.1
TESTS ?= tests
EXTRAS ?= embedded,test
TEST_PROCESSES ?= 2
VENV := .venv
STAMP := $(VENV)/installed
CONSTRAINTS := config/constraints.txt
# compiled modules are kept, or each of the many processes would compile all of them again
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo serve test check bench clean

demo: $(STAMP)
	$(VENV)/bin/setwright demo --host $(HOST) --port $(PORT)

serve: $(STAMP)
	$(VENV)/bin/setwright serve --host $(HOST) --port $(PORT)

test: $(STAMP)
	$(VENV)/bin/pytest $(TESTS) -n $(TEST_PROCESSES) --dist loadgroup --ignore tests/bench $(PYTEST_FLAGS)

bench: $(STAMP)
	$(VENV)/bin/pytest tests/bench --benchmark-only

check: $(STAMP)
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/mypy config quotes intake sizing
	$(VENV)/bin/lint-imports
	$(VENV)/bin/setwright makemigrations --check --dry-run

$(STAMP): pyproject.toml $(CONSTRAINTS)
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
	  echo "Setwright needs Python 3.11 or newer as '$(PYTHON)'; name another: make PYTHON=python3.12" >&2; exit 2; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "'$(PYTHON)' cannot make virtual environments; on Debian install python3-venv" >&2; exit 2; }
	[ -x $(VENV)/bin/python ] || $(PYTHON) -m venv $(VENV)
	$(VENV)/bin/python -m pip install --quiet --disable-pip-version-check $(PIP_FLAGS) --editable '.[$(EXTRAS)]' --constraint $(CONSTRAINTS)
	@touch $@

clean:
	rm -rf $(VENV) build *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
