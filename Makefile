# make setup   prepare .venv with every pinned package
# make demo    the whole site with a practice on call, at http://127.0.0.1:8000/
# make test    lint, types, import contracts, tests; ARGS="-k rest" goes to pytest

PYTHON ?= python3
RUN := .venv/bin/python

.PHONY: setup demo test

setup:
	@$(PYTHON) .ci/setup

demo: setup
	@BYRELIGHT_LEASH=1 exec $(RUN) manage.py demo

test: setup
	@exec $(RUN) .ci/check $(ARGS)
