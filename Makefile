# The only door: everything a user or a contributor runs.
#   make demo   set up, build, run the whole job on the invented estate
#   make test   set up (a browser too), then formatting, lints and every test
#   make check  formatting and lints only
#   make bless  accept the program's present output as the stored estate, pictures and gallery
#   make bench  speed, beside general libraries in the same run
#   make study  whether intervals cover what they say, into docs/simulation.md (some minutes)
#   make doc    the library's documentation

.PHONY: demo test check bless bench study doc setup judges

demo: setup
	@echo "building (the first time PROJ is compiled too, which takes some minutes)"
	cargo build --locked
	cargo run --locked --quiet -- demo --out out/demo --force

test: setup check judges
	cargo test --locked

check: setup
	cargo fmt --check
	cargo clippy --locked --all-targets -- -D warnings

bless: setup judges
	BLESS=1 cargo test --locked --test it -- blessed_one pictures::

# The one profile there is: another would compile PROJ again.
bench: setup
	cargo bench --locked --profile dev --bench layout
	python3 benches/peers/rows.py
	cargo bench --locked --profile dev --bench estimate
	python3 benches/peers/kriging.py

study: setup
	cargo run --locked --example coverage

doc: setup
	cargo doc --locked --no-deps

setup:
	@sh scripts/setup.sh

judges:
	@sh scripts/setup-judges.sh
