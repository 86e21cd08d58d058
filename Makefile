# Stillwater: what can be made. `make` alone lists it.
SHELL := /bin/bash
.DEFAULT_GOAL := help
VENV := $(if $(STILLWATER_VENV),$(STILLWATER_VENV),build/venv)
PYTHON := $(VENV)/bin/python
ARGS ?=
# A windowless Qt, and Debian's PROJ data, which a venv does not find by itself.
export QT_QPA_PLATFORM ?= offscreen
export PROJ_DATA ?= /usr/share/proj
export XDG_RUNTIME_DIR ?= $(CURDIR)/build/run
VERSION := $(shell sed -n 's/^version=//p' metadata.txt)
SOURCES := __init__.py siting processing_algs plugin sample_layers tests

.PHONY: help setup demo test test-debian13 qt6 coverage mutants benchmark lint package clean

help: ## list what can be made
	@awk -F ':.*## ' '/^[a-z0-9-]+:.*## / { printf "  make %-14s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

setup: ## install what is missing (Debian 12; root or sudo)
	@.ci/setup
	@mkdir -p -m 700 "$(XDG_RUNTIME_DIR)"

demo: setup ## run the main job on sample_layers/, results in build/demo/
	@sample_layers/demo.sh

test: setup ## all tests on this machine's QGIS; ARGS="-k name" narrows
	@$(PYTHON) -m pytest -m "not benchmark" $(ARGS)

test-debian13: ## the same tests on QGIS 3.44 in a Debian 13 folder
	@.ci/debian13 test tests/qgis $(ARGS)
	@.ci/debian13 test tests/science tests/peers $(ARGS)

qt6: setup ## check on PyQt6 that Qt's names exist and all modules import
	@.ci/qt6

coverage: setup ## lines of siting/ that the science tests alone run; fails under 95 %
	@mkdir -p build
	@COVERAGE_FILE=build/coverage $(PYTHON) -m pytest tests/science --cov=siting \
		--cov-report=term-missing:skip-covered --cov-fail-under=95 $(ARGS)

benchmark: setup ## measure speed and memory beside other libraries
	@$(PYTHON) -m pytest -m benchmark -s $(ARGS)

mutants: setup ## change the science here and there: which tests notice? MUTANTS=20 SEED=1 ONLY=path
	@.ci/mutants "$(PYTHON)"

lint: setup ## style, security and secrets, as the plugin repository scans them
	@status=0; \
	$(PYTHON) -m flake8 $(wildcard $(SOURCES)) || status=1; \
	$(PYTHON) -m bandit -q -r $(wildcard __init__.py siting processing_algs plugin sample_layers) || status=1; \
	git ls-files -z -co --exclude-standard | \
		xargs -0 $(PYTHON) -m detect_secrets.pre_commit_hook --no-verify || status=1; \
	exit $$status

package: ## build/stillwater-VERSION.zip for QGIS's plugin manager
	@.ci/package "build/stillwater-$(VERSION).zip"

clean: ## remove what was made, but not the venv
	@find build -mindepth 1 -maxdepth 1 ! -name 'venv*' -exec rm -rf {} + 2>/dev/null || true
	@find . -name __pycache__ -not -path './build/*' -prune -exec rm -rf {} +
