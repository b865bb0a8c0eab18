# Two commands do everything on a bare Debian machine: `make demo` and `make test`.

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.PHONY: help demo test nightly hostile fuzz bench paint build service dashboard openapi examples lint format lint-code lint-screens libraries flaws unit county integration browser \
  install install-test install-nightly clean-demo kept

# A newer Node.js that .ci/install may have put here comes first.
export PATH := $(CURDIR)/target/node/node_modules/.bin:$(PATH)
# A runaway compiler fails here and does not take the machine with it. Node and Chromium reserve more than they use.
CARGO := ulimit -v 16000000; cargo
LISTEN ?= $(if $(TLS),0.0.0.0:8443,127.0.0.1:8080)
NEXTEST := $(shell command -v cargo-nextest 2>/dev/null)
ifdef NEXTEST
RUN_TESTS = $(CARGO) nextest run
IGNORED_TOO = --run-ignored all
SHOWN = --no-capture
else
RUN_TESTS = $(CARGO) test
IGNORED_TOO = -- --ignored
SHOWN = -- --nocapture --test-threads=1
endif

# What is installed and built already is not made again: the dashboard's lint runs beside the Rust tests, which often wait, and so does the
# telling of the county that the browser tests begin with.
BUILT = $(MAKE) --no-print-directory -o install-test -o dashboard -o service
# What a stage of `make test` begins with: the time, and what it does.
STAGE = @date '+%H:%M:%S  $(1)'

help: ## Show these lines
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

demo: install dashboard ## Build, start on SQLite with the demo county, print the address and the sign-ins; TLS=1 for phones
	$(CARGO) build -p fullset
	target/debug/fullset demo --listen $(LISTEN) --file demo.sqlite $(if $(TLS),--tls-self-signed demo-tls)

clean-demo: ## Forget the demo county; the next `make demo` tells it anew
	rm -rf demo.sqlite demo.sqlite-shm demo.sqlite-wal demo.sqlite.photos

# Clippy compiles what is tested, so that nothing is read by one compiler and built by another.
test: export RUSTC_WORKSPACE_WRAPPER := $(shell command -v clippy-driver)
test: export CLIPPY_ARGS := -Dwarnings
test: install-test format dashboard service ## Run every test, on both databases and in a real browser
	$(BUILT) integration & rust=$$!; \
	  nice -n 10 $(BUILT) lint-screens unit county >target/screens.log 2>&1 & screens=$$!; \
	  wait $$rust; \
	  wait $$screens || { cat target/screens.log; echo "The dashboard's lint or unit tests failed: see above." >&2; exit 1; }
	cat target/screens.log
	E2E_COUNTY=../$(COUNTY) $(BUILT) browser
	$(call STAGE,every test has passed)

nightly: install-nightly libraries dashboard service ## What takes an hour: 300 seeds of the simulated phones, others each day (FULLSET_TEST_SEEDS, FULLSET_TEST_FIRST_SEED), the API tried at length, a year by the clock (FULLSET_TEST_DAYS), 500 swap plans and ten tight years of service against a solver (FULLSET_TEST_PLANS), 1,000 kills and as many failures of the power (FULLSET_TEST_KILLS, FULLSET_TEST_CUTS)
	export FULLSET_TEST_EXAMPLES=100 NEXTEST_PROFILE=nightly; $(RUN_TESTS) --workspace outside::schemathesis
	$(RUN_TESTS) --workspace outside::a_generated_java $(IGNORED_TOO)
	export FULLSET_TEST_PLANS=500 NEXTEST_PROFILE=nightly; $(RUN_TESTS) --workspace outside::swaps
	$(RUN_TESTS) --workspace all_tight_years $(IGNORED_TOO)
	export FULLSET_TEST_DAYS=366 NEXTEST_PROFILE=nightly; $(RUN_TESTS) --workspace slices::year
	export FULLSET_TEST_SEEDS=$${FULLSET_TEST_SEEDS:-300} NEXTEST_PROFILE=nightly; \
	  export FULLSET_TEST_FIRST_SEED=$${FULLSET_TEST_FIRST_SEED:-$$(( $$(date +%s) / 86400 * 300 ))}; \
	  echo "seeds from $$FULLSET_TEST_FIRST_SEED on"; $(RUN_TESTS) --workspace sync::phones::seeds_
	export FULLSET_TEST_KILLS=$${FULLSET_TEST_KILLS:-1000} FULLSET_TEST_CUTS=$${FULLSET_TEST_CUTS:-1000} NEXTEST_PROFILE=nightly; \
	  export FULLSET_TEST_SEED=$${FULLSET_TEST_SEED:-$$(( $$(date +%s) / 86400 ))}; \
	  echo "seed $$FULLSET_TEST_SEED"; $(RUN_TESTS) --workspace kills:: $(SHOWN); $(RUN_TESTS) --workspace power:: $(SHOWN); \
	  $(RUN_TESTS) --workspace power::nothing_is_lost_while_sqlite $(IGNORED_TOO)
	export PROPTEST_RNG_SEED=$${PROPTEST_RNG_SEED:-$$(( $$(date +%s) / 86400 ))}; \
	  echo "property tests with PROPTEST_RNG_SEED=$$PROPTEST_RNG_SEED"; $(RUN_TESTS) -p fullset-calc -p fullset-care -p fullset-register
	cd dashboard && E2E_EVERY_LOOK=1 npm run -s e2e

hostile: dashboard service ## Attack the service with all that the tests sample, and print what it held and how long others waited
	export FULLSET_TEST_ATTACK=whole NEXTEST_PROFILE=nightly; $(RUN_TESTS) --workspace hostile:: $(SHOWN)

build: dashboard ## Build the service with its dashboard
	$(CARGO) build --release -p fullset

FUZZ_SECONDS ?= 600
FUZZ_TARGETS ?= $(basename $(notdir $(wildcard fuzz/targets/*.rs)))
# A picture that is decoded may take a gigabyte; one input may take a minute.
FUZZ_BOUNDS = -max_total_time=$(FUZZ_SECONDS) -timeout=60 -rss_limit_mb=1500 -print_final_stats=1
FUZZ = cargo +nightly fuzz

fuzz: dashboard ## Look for bytes that break what must hold, FUZZ_SECONDS (600) for each target; needs cargo install cargo-fuzz and a nightly compiler
	cp Cargo.lock fuzz/Cargo.lock # the libraries that the service has
	$(FUZZ) build -s none
	set -e; for target in $(FUZZ_TARGETS); do $(FUZZ) run -s none $$target -- $(FUZZ_BOUNDS); done

bench: ## Measure, with the yardsticks in the same run
	$(CARGO) bench -p fullset-calc
	$(CARGO) bench -p fullset-tests

AT ?= http://127.0.0.1:8080
paint: dashboard ## How long a phone on a weak signal waits for its first screen, of a demo that runs: make paint AT=http://127.0.0.1:8080
	cd dashboard && node scripts/paint.js $(AT)

examples: dashboard service ## Record the examples of the API's description anew, then run `make openapi`
	export FULLSET_RECORD_EXAMPLES=1; $(RUN_TESTS) -p fullset-tests contract::examples

kept: dashboard service ## Keep a database of the schema of now for the upgrade tests: once for each release
	export FULLSET_KEEP_SCHEMA=1; $(RUN_TESTS) -p fullset-tests upgrade::the_schema_of_now

openapi: ## Write openapi/openapi.json and the dashboard's client from the code
	$(CARGO) run -q -p fullset -- openapi > openapi/openapi.json
	cd dashboard && npm run -s generate

lint: lint-code lint-screens ## Formatting, clippy, eslint, types, the API's description

format:
	$(CARGO) fmt --all --check

lint-code: install-test dashboard format
	$(CARGO) clippy -q --workspace --all-targets -- -D warnings

lint-screens: install-test dashboard
	cd dashboard && npm run -s lint && npm run -s check && npm run -s size
	target/outside/node/node_modules/.bin/redocly lint openapi/openapi.json --config openapi/redocly.yaml --format=summary
	target/outside/node/node_modules/.bin/spectral lint openapi/openapi.json --ruleset openapi/spectral.yaml --fail-severity=hint --quiet

libraries: install-nightly ## Libraries that nobody uses, and where the others come from under which licences
	cargo machete
	cargo deny --locked check bans licenses sources

flaws: install-nightly ## Flaws that were published of the libraries; asks the lists of advisories of Rust and npm
	cargo deny --locked check advisories
	cd dashboard && npm audit --audit=true --omit=dev

unit: dashboard ## The dashboard's unit tests
	cd dashboard && npm test --silent

integration: dashboard service ## All Rust tests; PostgreSQL is started by the tests
	$(call STAGE,Rust tests)
	$(RUN_TESTS) --workspace
	$(CARGO) test -q --doc --workspace

COUNTY := target/county.sqlite

county: service
	rm -rf $(COUNTY) $(COUNTY)-shm $(COUNTY)-wal $(COUNTY).photos
	target/debug/fullset demo --file $(COUNTY) --seed-only

browser: dashboard service ## The browser tests, against the real service
	$(call STAGE,browser tests)
	cd dashboard && npm run -s e2e

# Built together with the tests: one choice of features, so that nothing is compiled twice.
service:
	$(call STAGE,building the service and its tests)
	$(CARGO) build -q --workspace --all-targets

dashboard: dashboard/node_modules/.package-lock.json
	cd dashboard && npm run -s build

dashboard/node_modules/.package-lock.json: dashboard/package-lock.json
	cd dashboard && npm ci --no-fund --no-audit --loglevel=error || { \
	  echo "The dashboard's libraries could not be installed: look whether npm reaches its registry (npm ping), then run this again." >&2; exit 1; }

install:
	.ci/install

install-nightly:
	.ci/install nightly

install-test:
	.ci/install test
