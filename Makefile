# Everything here is plain go commands; .ci/run is what must pass.

GO      ?= go
TOOL    := $(GO) tool -modfile=tools/go.mod
LDFLAGS := -s -w
RACE    := ./keeper/... ./store/... ./web/... ./ingest/... ./farm/... ./document/...
FUZZTIME ?= 20s
BENCH   ?= .
COUNT   ?= 10

.PHONY: build test race bench peer proof gallery screenshot lint fuzz dist notices clean

build:
	CGO_ENABLED=0 $(GO) build -trimpath -ldflags '$(LDFLAGS)' -o bin/ ./cmd/...

test:
	$(GO) test ./...

# Patterns of folders that are not there yet match nothing and are left out.
race:
	$(GO) test -race $$(for d in $(RACE); do test -d $${d%/...} && echo $$d; done)

# Compare two runs with: go tool -modfile=tools/go.mod benchstat old.txt new.txt
bench:
	$(GO) test -run '^$$' -bench '$(BENCH)' -benchmem -count $(COUNT) ./...
	@$(MAKE) --no-print-directory peer

# The same pond by a general integrator of SciPy, timed in the same run.
PYTHON ?= /usr/bin/python3
peer:
	@if $(PYTHON) -c 'import scipy' 2>/dev/null; then $(PYTHON) scripts/reference_integrator.py --peer; \
	else echo "peer: SciPy is not here (Debian: python3-scipy), left out"; fi

# The long experiments: tests named TestProof..., which are short in the usual run.
# Writes docs/proof.md; a quarter of an hour on two cores that do nothing else.
PROOF ?= ./science/twin
proof:
	SODALAKE_PROOF=1 $(GO) test -count=1 -timeout 3h -run '^TestProof' -v $(PROOF)

gallery:
	$(GO) run ./web/gallery -out gallery

# The picture in the README, of the canned farm.
screenshot:
	$(GO) run ./web/gallery -out bin/shots -only today
	cp bin/shots/today-desk-light.png docs/today.png

lint:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; exit 1; }
	$(GO) vet ./...
	$(TOOL) staticcheck ./...

# One target at a time: the go command fuzzes no two together.
fuzz:
	@set -e; for p in $$($(GO) list ./...); do \
	  for f in $$($(GO) test -list '^Fuzz' $$p | grep '^Fuzz' || true); do \
	    echo "$$p $$f"; \
	    $(GO) test -run '^$$' -fuzz "^$$f\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 5s $$p; \
	  done; \
	done

dist: notices
	@set -e; for t in linux/amd64 linux/arm64 windows/amd64; do \
	  os=$${t%/*}; arch=$${t#*/}; ext=; test $$os = windows && ext=.exe; \
	  echo "dist/sodalake-$$os-$$arch$$ext"; \
	  CGO_ENABLED=0 GOOS=$$os GOARCH=$$arch $(GO) build -trimpath -ldflags '$(LDFLAGS)' \
	    -o dist/sodalake-$$os-$$arch$$ext ./cmd/sodalake; \
	done
	cd dist && sha256sum sodalake-* > SHA256SUMS

# The licence of each module that is linked into the program.
notices:
	@mkdir -p dist
	@{ cat LICENSE; \
	  $(GO) list -deps -f '{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}} {{.Dir}}{{end}}{{end}}' ./cmd/sodalake | sort -u | \
	  while read path version dir; do \
	    for f in $$dir/LICEN[CS]E* $$dir/COPYING* $$dir/NOTICE*; do \
	      test -f "$$f" || continue; \
	      printf '\n\n==== %s %s: %s ====\n\n' "$$path" "$$version" "$${f##*/}"; cat "$$f"; \
	    done; \
	  done; \
	  printf '\n\n==== Go ====\n\n'; cat "$$($(GO) env GOROOT)/LICENSE"; } > dist/NOTICES.txt
	@echo "dist/NOTICES.txt: $$(grep -c '^====' dist/NOTICES.txt) licences"

clean:
	rm -rf bin dist gallery
