# The two commands of the README are `make plan` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: plan test quick bench lint template readme evidence pictures clean

plan: $(VENV)/installed
	@test -e batch-plan.xlsx || $(BIN)/spargesheet new batch-plan.xlsx
	@$(BIN)/spargesheet show batch-plan.xlsx

# Of the tests that start LibreOffice two files run at a time, each in offices of its own; all others run on every core.
test: $(VENV)/test-installed
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/pytest -n auto -m "not office"
	$(BIN)/pytest -n 2 --dist loadfile -m office

# What a change in chemcore or udfs needs to know within a minute.
quick: $(VENV)/test-installed
	$(BIN)/ruff check .
	$(BIN)/pytest -n auto -m "not office and not slow" tests/chemcore tests/udfs tests/outside

# Measures; SAVE=1 appends to tests/benchmarks/history.jsonl, COMPARE=1 says what became slower.
bench: $(VENV)/test-installed
	$(BIN)/python -m tests.benchmarks $(if $(SAVE),--save) $(if $(COMPARE),--compare)

lint: $(VENV)/test-installed
	$(BIN)/ruff check .
	$(BIN)/mypy

template: $(VENV)/installed
	$(BIN)/python -m workbook_template.template.build

readme: $(VENV)/installed
	$(BIN)/python -m udfs.function_list README.md

# What each function was checked against, and how far off it was: tests/outside/EVIDENCE.md and its pictures.
evidence: $(VENV)/test-installed
	$(BIN)/python -m tests.outside.evidence

$(VENV)/bin/python:
	@$(PYTHON) -m venv $(VENV) || { echo "Making .venv failed: install Python 3.10 or newer with its venv module (on Debian: apt install python3-venv)"; rm -rf $(VENV); exit 2; }

$(VENV)/installed: pyproject.toml | $(VENV)/bin/python
	@echo "Installing into $(VENV) ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/test-installed: $(VENV)/installed
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable ".[test]"
	@touch $@

clean:
	rm -rf $(VENV) build *.egg-info .pytest_cache .hypothesis .ruff_cache

# Pictures of every sheet, drawn by LibreOffice from the committed template, into artefacts/.
pictures:
	rm -rf artefacts && mkdir -p artefacts
	soffice --headless -env:UserInstallation=file://$(CURDIR)/artefacts/profile --convert-to pdf --outdir artefacts workbook_template/batch-plan.xlsx
	pdftoppm -r 100 -png artefacts/batch-plan.pdf artefacts/sheet
	rm -rf artefacts/profile
