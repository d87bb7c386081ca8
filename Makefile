# The book's commands, one a line: `make help`. All they make lies in .venv and var, so that a second clone
# beside this one is not in the way.

.PHONY: help setup demo run test lint bench endure lock look faces clean prerequisites
.DEFAULT_GOAL := help
SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DELETE_ON_ERROR:

VENV := .venv
PY := $(VENV)/bin/python
PIP := $(PY) -m pip --disable-pip-version-check install --quiet --require-hashes
# Processes that share the suite: more than a small machine has cores, for many tests wait for servers and processes.
JOBS ?= 3
PYTEST = $(PY) -m pytest -q -n $(JOBS) --dist worksteal --ignore=tests/endure
# Who may do what is asked of the pages, what hostile input costs is asked of the parsers, and the plumbing of itself:
# once, with PostgreSQL.
ONCE := --ignore=tests/config --ignore=tests/matrix --ignore-glob='tests/faults/test_hostile_*' --ignore=tests/faults/test_wrong_state.py
# A Python to make the virtual environment with.
PYTHON ?= $(firstword $(foreach name,python3.11 python3.12 python3.13 python3 python3.14,$(shell \
	$(name) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $(name))))

help: ## show this
	@sed -nE 's/^([a-z]+):.*## (.*)/make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 14

setup: $(VENV)/base.stamp ## a virtual environment with what the book needs (a second time: nothing)

# Recorded only when all is in: an installation cut short is taken up again.
$(VENV)/base.stamp: requirements/base.txt | $(VENV)/bin/pip
	@echo "Installing the book's requirements into $(VENV)"
	@$(PIP) -r $< && touch $@

$(VENV)/dev.stamp: requirements/dev.txt | $(VENV)/bin/pip
	@echo "Installing the requirements of tests and checks into $(VENV)"
	@$(PIP) -r $< && touch $@

$(VENV)/bin/pip:
	@if [ -z "$(PYTHON)" ]; then \
		echo "The book needs Python 3.11 or later. On Debian 12 or later, as root:" >&2; \
		echo "  apt-get install -y --no-install-recommends python3 python3-venv" >&2; exit 1; fi
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || { \
		echo "$(PYTHON) cannot make a virtual environment. On Debian or Ubuntu, as root:" >&2; \
		echo "  apt-get install -y --no-install-recommends \
	$$($(PYTHON) -c 'import sys; print("python3.%d-venv" % sys.version_info.minor)')" >&2; exit 1; }
	@$(PYTHON) -m venv $(VENV)

# Static files are collected first, which takes two seconds: they are then sent compressed, and kept by the browsers.
demo run: export STATIC_FILES_COLLECTED := 1
COLLECT = $(PY) manage.py collectstatic --clear --no-input --verbosity=0

demo: setup ## a made-up co-op to look at, on this machine alone
	@$(PY) -c 'import ctypes; [ctypes.CDLL(name) for name in ("libpango-1.0.so.0", "libpangoft2-1.0.so.0")]' \
		2>/dev/null || { \
		echo "Only printing (PDF) needs what is missing here; all else works. As root on Debian or Ubuntu:"; \
		echo "  apt-get install -y --no-install-recommends \
	libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core"; }
	@$(COLLECT)
	@$(PY) manage.py demo $(ARGS)

run: setup ## the book for a few members on one machine: the site and its schedule together
	@$(COLLECT)
	@$(PY) manage.py serve $(ARGS)

prerequisites:
	@if [ -z "$(PYTHON)" ]; then echo "Python 3.11 or later is needed." >&2; exit 1; fi
	@$(PYTHON) -m tests.prerequisites

test: prerequisites ## the cores, the rest on PostgreSQL and on SQLite, then a browser
	@$(MAKE) --no-print-directory $(VENV)/dev.stamp
	@echo "== The cores, which know no database, and their coverage"
	@TEST_DATABASE=sqlite $(PYTEST) tests/core \
		--cov=costing.core --cov=costing.choosing.core --cov=costing.importing.core \
		--cov=costing.statement.core --cov=costing.planning.core --cov=fleet.core \
		--cov-branch --cov-fail-under=100
	@echo "== All else on PostgreSQL"
	@TEST_DATABASE=postgresql $(PYTEST) --ignore=tests/browser --ignore=tests/core
	@echo "== All else on SQLite"
	@TEST_DATABASE=sqlite $(PYTEST) --ignore=tests/browser --ignore=tests/core $(ONCE)
	@echo "== In a browser"
	@TEST_DATABASE=sqlite DJANGO_ALLOW_ASYNC_UNSAFE=true $(PY) -m pytest -q tests/browser

# As on a server that others reach: what would be wrong there is to be found here.
lint: export SITE_URL := https://book.example
lint: export ALLOWED_HOSTS := book.example
lint: export SECRET_KEY := for-checking-only-0123456789-abcdefghijklmnopqrstuvwxyz
lint: export DATA_DIR := $(CURDIR)/$(VENV)/lint
lint: export REDIS_URL := redis://redis.invalid:6379/0
lint: export EMAIL_URL := smtp+tls://mail.invalid:587
lint: $(VENV)/dev.stamp ## style, types, import rules, templates, migrations, deployment checks
	@mkdir -p $(DATA_DIR)
	$(PY) -m ruff check .
	$(PY) -m ruff format --check .
	$(PY) -m mypy
	$(VENV)/bin/lint-imports
	$(PY) -m djlint --check --lint templates
	$(PY) manage.py makemigrations --check --dry-run
	$(PY) manage.py check --deploy --fail-level WARNING

bench: $(VENV)/dev.stamp ## how much work the book takes (ARGS="log growth": these alone; ARGS=--help)
	@$(PY) -m bench $(ARGS)

endure: $(VENV)/dev.stamp ## long trials, then mutants of the cores against the cores' own tests: half an hour
	@[ -n "$(ARGS)" ] || TEST_DATABASE=postgresql $(PY) -m pytest -q tests/endure
	@[ -n "$(ARGS)" ] || TEST_DATABASE=sqlite $(PY) -m pytest -q tests/endure
	@$(PY) -m tests.endure $(ARGS)

lock: ## the requirements anew, from pyproject.toml (needs uv: pip install uv)
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-strip-extras \
		pyproject.toml -o requirements/base.txt
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-strip-extras \
		pyproject.toml --group dev -o requirements/dev.txt

look: ## the tokens of config/look/tokens.py into the stylesheets
	@$(PY) -m config.look

# Packages of the two faces. A new version may weigh or look otherwise: `tests/config/test_faces.py`, and look.
FACES := besley atkinson-hyperlegible-next
FACES_VERSION := 5.3.0
SHA512_besley := 453b4287b56c5e15bef4f017ec4b0485731884b159845976124ad5c205186e0576ec3a1eedbde096150278d54fd973d491a2ab7ba2df4f02c85d3cd56ec7ca9c
SHA512_atkinson-hyperlegible-next := 5272f3354cb5456a0b0dfc9d01ab4fe0d6919bdf57fd66d012987babf3f29899c214838ec0a3b1de9066a79cacf2daced1d33e08a1ae2607993fd7c0478990a4

faces: setup ## the two faces in static/faces anew, from their packages (needs npm)
	@unpacked=$$(mktemp -d); trap 'rm -rf "$$unpacked"' EXIT; \
	for face in $(FACES); do \
		mkdir "$$unpacked/$$face"; \
		archive=$$(npm pack --silent --pack-destination "$$unpacked" "@fontsource-variable/$$face@$(FACES_VERSION)"); \
		case $$face in besley) sum=$(SHA512_besley);; *) sum=$(SHA512_atkinson-hyperlegible-next);; esac; \
		echo "$$sum  $$unpacked/$$archive" | sha512sum --check --quiet; \
		tar -xzf "$$unpacked/$$archive" -C "$$unpacked/$$face" --strip-components=1; \
	done; \
	$(PY) -m config.look.faces "$$unpacked" static/faces

clean: ## remove the virtual environment and all caches; what is in var stays
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis .coverage mutants
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
