# Two commands matter: `make demo` runs the main job on a shipped invented case,
# `make test` passes the tests. Both set everything up in .venv first.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SITE := .venv-site
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: demo test slow lint browser mutation site notebooks lock clean

$(VENV)/run.stamp: requirements/run.txt pyproject.toml
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/run.txt
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/build.txt
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation --editable .
	touch $@

$(VENV)/test.stamp: $(VENV)/run.stamp requirements/test.txt
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/test.txt
	touch $@

demo: $(VENV)/run.stamp
	$(BIN)/neutralpoint study examples/quorleigh

lint: $(VENV)/test.stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports --no-cache
	$(BIN)/codespell *.md docs decisions benchmarks/results training examples src frontend/src
	$(BIN)/vulture
	$(BIN)/basedpyright

# What the page tests look with; without them those tests are skipped with a reason.
browser:
	command -v chromium >/dev/null || (apt-get -qq update && apt-get -qq install -y chromium) \
	  >/dev/null 2>&1 || echo "no Chromium: tests in a browser are skipped"
	test -d frontend/node_modules || (cd frontend && npm ci --silent) \
	  || echo "no Node tools: accessibility and bundle tests are skipped"

# One thread a worker: two workers share two cores. Whole files to a worker, so that what a file
# compiles and makes ready serves all its tests; the longest come first, as tests/conftest.py has them.
test: lint browser
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder

# What flies for minutes: the world by its signatures, and odds by the case's own flights. Compiled as
# the product compiles: tests/conftest.py sets flags of the compiler only where there are none.
slow: $(VENV)/test.stamp
	XLA_FLAGS= OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2 --dist loadfile -m slow

# Would a test notice? Changes of one formula drawn at random; an hour for all packages.
mutation: SEED ?= 1
mutation: $(VENV)/test.stamp requirements/mutation.txt
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/mutation.txt
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python benchmarks/mutation.py draw --seed $(SEED)
	$(BIN)/python benchmarks/mutation.py kill --list benchmarks/results/mutation/*-$(SEED).json --out mutation-$(SEED).json
	$(BIN)/python benchmarks/mutation.py take mutation-$(SEED).json

$(SITE)/site.stamp: requirements/site.txt pyproject.toml examples/plug-in/pyproject.toml
	test -x $(SITE)/bin/python || $(PYTHON) -m venv $(SITE)
	$(SITE)/bin/python -m pip install --quiet --require-hashes -r requirements/site.txt
	$(SITE)/bin/python -m pip install --quiet --require-hashes -r requirements/build.txt
	$(SITE)/bin/python -m pip install --quiet --no-deps --no-build-isolation --editable . ./examples/plug-in
	touch $@

# The documents as pages that need no network: build/site/html/index.html. SITE_WITH=--without-cases
# leaves out what studies of the examples take minutes for.
site: $(SITE)/site.stamp
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(SITE)/bin/python docs/make_site.py $(SITE_WITH)

# Runs the notebooks of docs/notebooks again, from the first cell to the last, and keeps what they show.
notebooks: $(SITE)/site.stamp
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(SITE)/bin/python docs/make_notebooks.py

# Needs `uv` on the path; writes the locks without index addresses.
lock:
	for set in build run test mutation site; do \
	  uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	    --no-emit-find-links --no-header requirements/$$set.in -o requirements/$$set.txt; done

clean:
	rm -rf $(VENV) $(SITE) build
