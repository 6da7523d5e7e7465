# Every target installs what it needs; the stamps in .venv say what is there.
PYTHON ?= python3
PORT ?= 8080
VENV ?= .venv
BIN := $(VENV)/bin
DEMO := $(VENV)/demo.stamp
DEV := $(VENV)/dev.stamp
FAULTS := $(VENV)/faults.stamp
COMPILED ?= .compiled
SHARED := -n auto --dist worksteal
IMAGE_PYTHON ?= python3.13
CLIENTS := tests/clients
NPM := $(CLIENTS)/node_modules/.stamp
NPX := $(CLIENTS)/node_modules/.bin
DOCUMENT := openapi/openapi.json
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes
LOCKED := $(BIN)/uv pip compile --upgrade --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	--no-annotate --no-header

export PATH := $(abspath $(BIN)):$(PATH)
export PYTHONDONTWRITEBYTECODE := 1
export REDOCLY_TELEMETRY := off
export REDOCLY_SUPPRESS_UPDATE_NOTICE := true

.PHONY: demo serve key image-test fault-test evenings schedule-test test check browser-test compiled-test image-python-test notice sbom kotlin-client bench \
	worst format lock openapi
.DEFAULT_GOAL := demo

demo: $(DEMO) ## a prep sheet for the example batch, from a service started for the occasion
	@$(BIN)/python -m tests.demo

serve: $(DEMO) ## the service on PORT, loopback only; open to all on this machine unless API_KEYS or API_KEY_HASHES is set
	AUTH=$(if $(API_KEYS)$(API_KEY_HASHES),,open) BIND=127.0.0.1:$(PORT) exec $(BIN)/gunicorn -c docker/gunicorn.conf.py

key: $(DEMO) ## a new API key for NAME, and what API_KEYS says of it
	@$(BIN)/python -m service.api.keys $(NAME)

test: $(DEV)
	$(BIN)/python -m pytest $(SHARED)

check: $(DEV) $(NPM)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(NPX)/pyright
	$(BIN)/lint-imports
	$(BIN)/deptry service
	$(BIN)/python -m service.api.openapi | diff -u $(DOCUMENT) -
	$(BIN)/openapi-spec-validator $(DOCUMENT)
	$(NPX)/redocly lint --config $(CLIENTS)/redocly.yaml $(DOCUMENT)
	$(NPX)/spectral lint --ruleset $(CLIENTS)/.spectral.yaml --fail-severity hint $(DOCUMENT)
	$(BIN)/python -m tests.clients.python
	$(BIN)/python -m tests.clients.typescript
	$(MAKE) --no-print-directory kotlin-client
	$(MAKE) --no-print-directory browser-test
	$(MAKE) --no-print-directory compiled-test
	$(MAKE) --no-print-directory test

evenings: $(DEV) ## a thousand random evenings of a till, where make test takes a few
	EVENINGS=1000 $(BIN)/python -m pytest tests/test_till.py

schedule-test: $(DEV) ## schedules of 200 random evenings against CP-SAT
	$(BIN)/python -m tests.service_plans.against_cp_sat 200

browser-test: $(DEV) $(NPM) ## the pages in a headless Chromium; pictures of them go to .screenshots
	.ci/need "command -v chromium" chromium fonts-dejavu-core
	$(BIN)/python -m pytest $(SHARED) tests/browser

image-test: $(DEV) ## builds the container and runs it, confined; needs root
	.ci/need "command -v dockerd" docker.io
	.ci/need "command -v debootstrap" debootstrap
	.ci/need "command -v nginx" nginx-light
	.ci/need "command -v docker-compose || docker compose version" docker-compose
	$(BIN)/python -m tests.image

fault-test: $(FAULTS) $(COMPILED)/.stamp ## slow callers, kills, upgrades, attacks, a soak of SOAK_SECONDS (300), a fuzzer for FUZZ_SECONDS (60)
	.ci/need "command -v nginx" nginx-light
	cd $(COMPILED) && python -m tests.faults

kotlin-client: $(DEV) ## generated, compiled, and called for every operation
	.ci/need "command -v java" default-jre-headless
	$(BIN)/python -m tests.clients.kotlin

bench: $(COMPILED)/.stamp ## as deployed, so with the science compiled
	.ci/need "command -v wrk" wrk
	.ci/need "command -v nginx" nginx-light
	cd $(COMPILED) && python -m tests.bench

worst: $(COMPILED)/.stamp ## CPU time of the costliest requests that each operation takes
	cd $(COMPILED) && python -m tests.bench.worst

compiled-test: $(COMPILED)/.stamp ## the science as the container has it gives the same numbers
	cd $(COMPILED) && python -m pytest $(SHARED) tests/science tests/test_safety.py tests/test_regas.py tests/test_golden.py

notice: $(DEV) ## the licences of what the image holds of others
	$(BIN)/python -m tests.inventory notice > NOTICE

sbom: $(DEV) ## the same as CycloneDX, for those who have to know: sbom.json
	$(BIN)/python -m tests.inventory sbom > sbom.json

image-python-test: ## the tests on the Python of the image, interpreted and compiled; it has to be there as IMAGE_PYTHON
	@command -v $(IMAGE_PYTHON) >/dev/null || { echo "No $(IMAGE_PYTHON) here; name one by IMAGE_PYTHON." >&2; exit 1; }
	$(MAKE) --no-print-directory VENV=.venv-image PYTHON=$(IMAGE_PYTHON) COMPILED=.compiled-image compiled-test test

format: $(DEV)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

openapi: $(DEV) ## the document, and the answers that it shows
	$(BIN)/python -m tests.document.answers
	$(BIN)/python -m service.api.openapi > $(DOCUMENT).new
	mv $(DOCUMENT).new $(DOCUMENT)

lock: $(DEV) ## newest releases that pyproject.toml allows, with hashes
	$(LOCKED) pyproject.toml --output-file lock/runtime.txt
	$(LOCKED) pyproject.toml --constraint lock/runtime.txt --group demo --output-file lock/demo.txt
	$(LOCKED) pyproject.toml --constraint lock/demo.txt --group dev --output-file lock/dev.txt
	$(LOCKED) pyproject.toml --constraint lock/dev.txt --group faults --output-file lock/faults.txt
	$(LOCKED) --constraint lock/dev.txt --group pyproject.toml:compile --output-file lock/compile.txt
	npm --prefix $(CLIENTS) update --package-lock-only

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "Python 3.11 or newer is needed: make PYTHON=python3.11 ..." >&2; exit 1; }
	@.ci/need "$(PYTHON) -c 'import ensurepip, venv'" python3-venv
	$(PYTHON) -m venv $(VENV)

$(DEMO): lock/demo.txt | $(BIN)/python
	$(PIP) -r lock/demo.txt
	@touch $@

$(DEV): lock/dev.txt | $(BIN)/python
	$(PIP) -r lock/dev.txt
	@touch $@ $(DEMO)

$(FAULTS): lock/faults.txt $(DEV) | $(BIN)/python
	$(PIP) -r lock/faults.txt
	@touch $@

# a tree of its own, so that no compiled module stands in for one that was edited since
$(COMPILED)/.stamp: $(shell find service tests openapi docker -name node_modules -prune -o -type f -print) $(DEV)
	.ci/need "command -v cc && $(BIN)/python -c 'import os, sysconfig; os.stat(sysconfig.get_path(\"include\") + \"/Python.h\")'" gcc libc6-dev python3-dev
	rm -rf $(COMPILED)
	mkdir $(COMPILED)
	tar -cf - --exclude=node_modules --exclude=__pycache__ service tests openapi docker | tar -xf - -C $(COMPILED)
	cd $(COMPILED) && find service/science -name '*.py' | xargs mypyc > build.log
	cp pyproject.toml CHANGELOG.md $(COMPILED)
	@touch $@

$(NPM): $(CLIENTS)/package-lock.json $(DEV)
	npm --prefix $(CLIENTS) ci --ignore-scripts --no-audit --no-fund --loglevel=error
	@touch $@
