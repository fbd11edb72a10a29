# What a change must pass, and the things one does every day.
GO      ?= go
TARGETS := linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
export CGO_ENABLED := 0

.PHONY: demo check format vet static test builds binaries reproducible manual notices bench picture screens clean

demo: ## Study the shipped lines; the reports come into out/
	$(GO) run ./cmd/obvert bench demo/bench/run-1.toml
	@for line in $(patsubst demo/%/line.toml,%,$(wildcard demo/*/line.toml)); do \
		echo; echo "== $$line"; \
		$(GO) run ./cmd/obvert study demo/$$line --out out/$$line --no-fail || exit $$?; \
	done

check: format vet static test ## Everything that must pass
	@echo "check: all passed"

format:
	@bad=$$(gofmt -l $$(git ls-files --cached --others --exclude-standard '*.go')); \
	if [ -n "$$bad" ]; then echo "not formatted by gofmt:"; echo "$$bad"; exit 1; fi

vet:
	$(GO) vet ./...

static:
	$(GO) tool staticcheck ./...

test:
	$(GO) test ./...

builds:
	@for target in $(TARGETS); do \
		echo "build $$target"; \
		GOOS=$${target%/*} GOARCH=$${target#*/} $(GO) build -o /dev/null ./cmd/obvert || exit 1; \
	done

# A binary holds no path of this machine, no build id and no state of the repository: the same source gives the same bytes.
RELEASE := -trimpath -buildvcs=false -ldflags "-s -w -buildid="
BIN     ?= out/bin
LARGEST := 30000000

binaries: ## Static binaries for every target into out/bin, with their sums
	@rm -rf $(BIN) && mkdir -p $(BIN)
	@for target in $(TARGETS); do \
		os=$${target%/*}; arch=$${target#*/}; end=; [ $$os = windows ] && end=.exe; \
		file=$(BIN)/obvert-$$os-$$arch$$end; echo "$$file"; \
		GOOS=$$os GOARCH=$$arch $(GO) build $(RELEASE) -o $$file ./cmd/obvert || exit 1; \
		size=$$(wc -c < $$file); \
		if [ $$size -gt $(LARGEST) ]; then echo "$$file has $$size bytes, more than $(LARGEST)"; exit 1; fi; \
	done
	@cd $(BIN) && sha256sum obvert-* > SHA256SUMS && cat SHA256SUMS

# The second copy is built from another folder and an empty cache, so that neither can leave its mark.
reproducible: ## Build every binary twice, in two places, and compare
	@$(MAKE) --no-print-directory binaries
	@away=$$(mktemp -d) && trap 'rm -rf "$$away"' EXIT && \
		git ls-files -z --cached --others --exclude-standard | xargs -0 cp --parents -t "$$away" && \
		GOCACHE="$$away/cache" $(MAKE) --no-print-directory -C "$$away" BIN=out/bin binaries >/dev/null && \
		cmp out/bin/SHA256SUMS "$$away/out/bin/SHA256SUMS" && echo "reproducible: the same bytes twice"

manual: ## docs/man, from the text of --help
	$(GO) test ./cmd/obvert -run TestManual -update

notices: ## docs/third-party.md, from what is linked
	$(GO) test ./internal/notices -update

bench: ## The figures of docs/performance.md
	$(GO) test -run '^$$' -bench . -benchmem ./...

picture: ## docs/answer.png, taken of the report by a browser
	$(GO) run ./cmd/obvert study demo/ridge --out out/ridge --no-fail >/dev/null
	chromium --headless --no-sandbox --hide-scrollbars --window-size=1366,1412 \
		--screenshot=docs/answer.png "file://$(CURDIR)/out/ridge/report.html"

DEMOS  ?= $(patsubst demo/%/line.toml,%,$(wildcard demo/*/line.toml))
WIDTHS ?= 1920 1366 390
screens: ## PNGs of the demos' reports, desk, laptop, phone and paper, into out/screens
	@for line in $(DEMOS); do \
		echo "screens of $$line"; $(GO) run ./cmd/obvert study demo/$$line --out out/$$line --no-fail >/dev/null && \
		.ci/screens out/$$line/report.html out/screens/$$line $(WIDTHS) || exit $$?; \
	done

clean:
	rm -rf out
