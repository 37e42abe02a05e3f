# Every target makes what it needs: the virtual environment, the locked libraries, the project, a browser.
# What is already made is not made again. `make help` lists the targets.

PY = .venv/bin/python
INSTALL = $(PY) -m pip install --quiet --disable-pip-version-check
# The part of the lock that names these libraries, with their hashes.
LOCKED = awk '/^[a-z]/ { kept = /^($(1))==/ } kept' requirements.lock
VIRTUALENV = virtualenv|distlib|filelock|packaging|platformdirs|python-discovery
UV = 0.13.9
LOCK_OPTIONS =
# One worker more than cores: while one waits for a browser or a program that it has begun, the others work.
WORKERS = $$($(PY) -c 'import os; print(min((os.cpu_count() or 1) + 1, 5))')
PYTEST_OPTIONS = -n $(WORKERS) --dist loadfile --no-loadscope-reorder
CALIBRATE_OPTIONS =

.PHONY: help demo test test-long calibrate lint types bench lock clean
.DEFAULT_GOAL = help

help:
	@echo "make demo    run the main job on the invented firm and say where its pages lie"
	@echo "make test    run every test, those in a browser included"
	@echo "make test-long  200 kills and 10,000 spoilt files; writes tests/hardness/figures.md (an hour or more)"
	@echo "make calibrate  200 simulated firms in each of 15 scenarios; writes tests/calibration/figures.md (many hours; can be"
	@echo "             stopped and taken up again; CALIBRATE_OPTIONS='--firms 10': fewer firms)"
	@echo "make lint    check style and layout of the code"
	@echo "make types   check the types"
	@echo "make bench   measure time and memory"
	@echo "make lock    choose the library versions anew (LOCK_OPTIONS=--upgrade: the newest of all)"
	@echo "make clean   remove the virtual environment, built packages and caches"

demo: .venv/installed
	@.venv/bin/fitback demo

# The workers share the cores already; products and frames as small as the tests' take longer on several threads than on one.
test: export OPENBLAS_NUM_THREADS = 1
test: export POLARS_MAX_THREADS = 1
test: .venv/installed
	@sh -c "$$TEST"

test-long: .venv/installed
	@$(PY) -m tests.hardness.long

calibrate: .venv/installed
	@$(PY) -m tests.calibration $(CALIBRATE_OPTIONS)

lint: .venv/installed
	@$(PY) -m ruff check .
	@$(PY) -m ruff format --check .

types: .venv/installed
	@$(PY) -m mypy

bench: .venv/installed
	@$(PY) -m tests.benchmarks.run

lock: .venv/made
	@$(INSTALL) uv==$(UV)
	@$(PY) -m uv pip compile pyproject.toml --extra test --universal --python-version 3.11 \
		--generate-hashes --no-annotate --no-header \
		--quiet $(LOCK_OPTIONS) --output-file requirements.lock

clean:
	rm -rf .venv dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find pipeline dbt_like_sql tests -name __pycache__ -type d -prune -exec rm -rf {} +

# A virtual environment is of no use once its folder has moved or its Python has gone: it is made anew, but only by a target
# that needs it, since this line runs for `make help` and `make -n` too.
ifneq ($(wildcard .venv/made),)
$(shell [ "$$(cat .venv/made)" = "$$(pwd)" ] && $(PY) -c "" 2>/dev/null || rm -f .venv/made)
endif

.venv/made:
	@sh -c "$$MAKE_VENV"
	@pwd > $@

.venv/locked: requirements.lock .venv/made
	@echo "Installing the locked libraries (a minute or two, once)."
	@$(call LOCKED,setuptools) > .venv/setuptools.lock
	@$(INSTALL) --require-hashes -r .venv/setuptools.lock
	@$(INSTALL) --require-hashes --no-build-isolation --use-pep517 -r requirements.lock
	@touch $@

.venv/installed: pyproject.toml .venv/locked
	@$(INSTALL) --no-deps --no-build-isolation -e .
	@touch $@

# The scripts below run under `sh -c "$$NAME"`; make wants each of their dollar signs twice.

define APT_INSTALL
apt_install() {
    [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 || return 1
    echo "Installing $$*." >&2
    export DEBIAN_FRONTEND=noninteractive
    said=$$({ apt-get update -qq && apt-get install -y -qq --no-install-recommends "$$@"; } </dev/null 2>&1) ||
        { echo "$$said" >&2; return 1; }
}
endef

# Takes a tested Python that is here. Debian's own Python fails half-way without python3-venv.
define MAKE_VENV
set -eu
$(APT_INSTALL)
say() { echo "$$1" >&2; }
suits() { command -v "$$1" >/dev/null 2>&1 && "$$1" -c "import sys; v = sys.version_info; sys.exit(not ($$2))" 2>/dev/null; }
choose() { for name in python3 python3.13 python3.12 python3.11 python; do suits $$name "$$1" && echo $$name && return; done; }
make_venv() { rm -rf .venv; "$$python" -m venv .venv >/dev/null 2>&1 && $(PY) -m pip --version >/dev/null 2>&1; }

apt_venv() {
    apt_install "$$("$$python" -c "import sys; print('python%d.%d-venv' % sys.version_info[:2])")"
}

make_virtualenv() {
    "$$python" -m pip --version >/dev/null 2>&1 || return 1
    rm -rf .venv && mkdir -p .venv/virtualenv
    $(call LOCKED,$(VIRTUALENV)) > .venv/virtualenv.lock
    "$$python" -m pip install --quiet --disable-pip-version-check --require-hashes --no-deps \
        --target .venv/virtualenv -r .venv/virtualenv.lock || return 1
    PYTHONPATH=.venv/virtualenv "$$python" -m virtualenv --quiet --no-download .venv && rm -rf .venv/virtualenv
}

python=$$(choose "(3, 11) <= v < (3, 14)" || choose "v >= (3, 11)" || true)
[ -n "$$python" ] || { say "fitback needs Python 3.11 or newer and finds none: install it (as root: apt-get install python3), then run make again."; exit 1; }
make_venv || { apt_venv && make_venv; } || make_virtualenv || {
    rm -rf .venv
    say "$$python cannot make a virtual environment here: install its venv module (as root: apt-get install python3-venv), then run make again."
    exit 1
}
endef
export MAKE_VENV

# Without a Chromium everything else is tested, and the target fails.
define TEST
set -u
$(APT_INSTALL)
browser() {
    for name in "$${FITBACK_CHROMIUM:-}" chromium chromium-browser google-chrome google-chrome-stable \
        "/Applications/Chromium.app/Contents/MacOS/Chromium" \
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"; do
        [ -n "$$name" ] && "$$name" --version >/dev/null 2>&1 && command -v "$$name" && return
    done
}

FITBACK_CHROMIUM=$$(browser || { apt_install chromium fonts-dejavu-core && browser; })
export FITBACK_CHROMIUM
if [ -n "$$FITBACK_CHROMIUM" ]; then
    exec $(PY) -m pytest $(PYTEST_OPTIONS)
fi
$(PY) -m pytest $(PYTEST_OPTIONS) -m "not browser"
echo "The browser tests did not run, as no Chromium is here: install one (as root: apt-get install chromium), then run make test again." >&2
exit 1
endef
export TEST
