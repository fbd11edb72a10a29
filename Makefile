# What a change must pass, and the things one does every day.
GO      ?= go
TARGETS := linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
export CGO_ENABLED := 0

.PHONY: demo check format vet static test builds bench picture clean

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

bench: ## The figures of docs/performance.md
	$(GO) test -run '^$$' -bench . -benchmem ./...

picture: ## docs/answer.png, taken of the report by a browser
	$(GO) run ./cmd/obvert study demo/ridge --out out/ridge --no-fail >/dev/null
	chromium --headless --no-sandbox --hide-scrollbars --window-size=1366,1412 \
		--screenshot=docs/answer.png "file://$(CURDIR)/out/ridge/report.html"

clean:
	rm -rf out
