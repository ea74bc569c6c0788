# Daybuoy, from a fresh clone. Needs Python 3.11 or newer with pip, make, and nothing else.
#
#   make demo     a running demo shop on http://127.0.0.1:8000
#   make env      only the environment: .venv/bin/daybuoy then works
#   make test     every check: format, lint, types, import directions, templates, tests, browser tests
#   make test-postgresql   the store's tests on a PostgreSQL server of their own (installs it where it may)
#   make format   put the code into the house format
#   make rule-index   write the rule index of DEVELOPERS.md anew
#   make messages     bring the catalogues of guests' languages up to what the program says
#   make language LANG=pl   begin a catalogue for one more language
#   make migration NAME="what it gives"   write a migration from the models
#   make lock     write the lock files anew from pyproject.toml (needs uv)
#   make clean    take the environment and the tools' caches away

.DEFAULT_GOAL := env
.PHONY: env env-dev demo test test-postgresql format lock migration rule-index messages language clean

PYTHON ?= python3
UV ?= uv
VENV := .venv
BIN := $(VENV)/bin

export PIP_DISABLE_PIP_VERSION_CHECK := 1
export PIP_NO_INPUT := 1
export PIP_ROOT_USER_ACTION := ignore
# Only what the lock lists, only when its hash is right, and only built packages: no compiler is needed.
PIP_INSTALL := $(BIN)/python -m pip install --quiet --require-hashes --only-binary :all:
# The project itself: its build tool is in the lock, so nothing more is fetched.
PIP_PROJECT := $(BIN)/python -m pip install --quiet --no-deps --no-build-isolation --no-index --editable .

env: $(VENV)/.installed
	@echo "The environment is ready: $(BIN)/daybuoy"

env-dev: $(VENV)/.installed-dev

demo: $(VENV)/.installed
	@$(BIN)/daybuoy demo

# A link to a Python that has gone counts as missing, and is then made anew.
$(BIN)/python:
	@command -v $(PYTHON) >/dev/null || { \
	  echo "There is no '$(PYTHON)' on this machine. Install Python 3.11 or newer, or name it: make PYTHON=/path/to/python3"; exit 1; }
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Daybuoy needs Python 3.11 or newer; '$(PYTHON)' is $$($(PYTHON) --version 2>&1). Name a newer one: make PYTHON=/path/to/python3"; exit 1; }
	@echo "Making the environment in $(VENV) with $$($(PYTHON) --version)."
	@$(PYTHON) -m venv --clear $(VENV) || { \
	  echo "'$(PYTHON) -m venv' failed. On Debian and Ubuntu: apt-get install python3-venv"; exit 1; }

# Other tools make environments without pip in them.
$(VENV)/.pip: | $(BIN)/python
	@$(BIN)/python -m pip --version >/dev/null 2>&1 || $(BIN)/python -m ensurepip --upgrade >/dev/null
	@touch $@

$(VENV)/.installed: requirements.lock pyproject.toml $(VENV)/.pip
	@echo "Installing what Daybuoy runs on, as requirements.lock lists it."
	@$(PIP_INSTALL) --requirement requirements.lock
	@$(PIP_PROJECT)
	@touch $@

$(VENV)/.installed-dev: requirements-dev.lock $(VENV)/.installed
	@echo "Installing what the checks need, as requirements-dev.lock lists it."
	@$(PIP_INSTALL) --requirement requirements-dev.lock
	@touch $@

# Tests without a browser run in one process for each core, a file at a time. Browser tests run by themselves: their
# tool holds an event loop in the main thread, and they measure what a page weighs. All tests of `make test`
# use the same examples at every run; a plain `pytest` looks for new ones.
test: env-dev
	@echo "Looking for a browser."
	@$(BIN)/python tests/browser/find_chromium.py --install
	@echo "Is the code in the house format?"
	@$(BIN)/ruff format --check .
	@echo "Does the code keep to the lint rules?"
	@$(BIN)/ruff check .
	@echo "Are the types right?"
	@$(BIN)/mypy
	@echo "Do imports point inwards?"
	@$(BIN)/lint-imports
	@echo "Do the pages speak the htmx that is shipped?"
	@$(BIN)/python tests/house/htmx_upgrade_check.py templates static/daybuoy.js
	@echo "Running the tests without a browser."
	@$(BIN)/pytest --hypothesis-profile=ci -n auto --dist loadfile --ignore=tests/browser --ignore=tests/postgresql
	@echo "Running the tests with a browser."
	@$(BIN)/pytest --hypothesis-profile=ci tests/browser
	@echo "All checks passed."

test-postgresql: env-dev
	@$(BIN)/python tests/postgresql/cluster.py --install --hypothesis-profile=ci tests/postgresql

rule-index: env-dev
	@PYTHONPATH=. $(BIN)/python tests/house/rule_index.py

messages: env-dev
	@PYTHONPATH=. $(BIN)/python tests/house/messages.py

language: env-dev
	@PYTHONPATH=. $(BIN)/python tests/house/messages.py --new "$(LANG)"

migration: env-dev
	@$(BIN)/python migrations/new.py "$(NAME)"

format: env-dev
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix .

# One lock for Linux and macOS, Python 3.11 and newer: what differs carries a marker. The second is held to the first.
lock:
	@command -v $(UV) >/dev/null || { echo "'make lock' needs uv: pip install uv"; exit 1; }
	$(UV) pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	  --custom-compile-command "make lock" --group build \
	  --output-file requirements.lock pyproject.toml
	$(UV) pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	  --custom-compile-command "make lock" --group build --extra dev --extra postgresql \
	  --constraint requirements.lock --output-file requirements-dev.lock pyproject.toml

clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache test-results
