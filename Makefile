# Two commands do everything on Debian 12 or Ubuntu 24.04 with Go, make, git and apt:
#   make demo    install what the program needs, build it, measure a sample photo
#   make test    install what the tests need, run them all
# Both are quick and need no network the second time.

export GOENV := $(CURDIR)/go.env
unexport GOFLAGS

SUDO := $(shell [ "$$(id -u)" = 0 ] || echo sudo)
BUILD_PACKAGES := gcc g++ pkg-config libopencv-dev libjpeg62-turbo-dev libheif-dev
TEST_PACKAGES := poppler-utils mupdf-tools qpdf librsvg2-bin chromium python3-shapely python3-numpy python3-ezdxf python3-jsonschema \
	libheif-examples libimage-exiftool-perl opencv-doc visp-images-data hp2xx
BENCH_PACKAGES := libjpeg-turbo-progs time bc

# What Ubuntu calls by another name, parts into plugins, or (the browser) has only as a snap.
UBUNTU_NAMES := s/libjpeg62-turbo-dev/libjpeg-turbo8-dev/;s/ chromium / /;s/libheif-examples/libheif-examples libheif-plugin-x265 libheif-plugin-libde265/

SAMPLE ?= samples/tapered-four-cards.jpg
GO_FILES := $(shell git ls-files '*.go' 2>/dev/null)

.PHONY: all build demo test test-slow test-mats lint fuzz bench check-go packages test-packages bench-packages clean

all: build

build: packages bin/fairedge

bin/fairedge: go.mod go.sum go.env $(GO_FILES)
	go build -trimpath -ldflags=-s -o $@ ./cmd/fairedge

demo: build
	@rm -rf out/demo
	bin/fairedge cards --paper a4 --out out/demo/scale-cards-a4.pdf
	bin/fairedge cut $(SAMPLE) --out out/demo --name "Demo seat" --force

test: packages test-packages
	go vet ./...
	go test ./...

# The full sweeps of the packages in SLOW, which CI runs too. "make test-slow SLOW=./..." runs them everywhere;
# the published instances of internal/nest (a quarter of an hour), the tables of internal/sweep, the kills of internal/archive and the scenes of
# internal/detect take many minutes more.
SLOW ?= ./internal/job ./internal/render ./internal/sheet
test-slow: packages test-packages
	FAIREDGE_SLOW=1 go test -timeout 60m $(SLOW)

# Fails when a function of internal/opencv leaves a Mat open: gocv counts them under this tag, which compiles it anew.
test-mats: packages
	go test -tags=$$(sed -n 's/.*-tags=\([^ ]*\).*/\1/p' go.env),matprofile ./internal/opencv

lint: packages
	@bad=$$(gofmt -l cmd internal); [ -z "$$bad" ] || { echo "gofmt would change: $$bad"; exit 1; }
	go vet ./...
	go tool staticcheck ./...

FUZZ_TIME ?= 10s
fuzz: packages
	@set -e; for f in $$(grep -rl --include='*_test.go' '^func Fuzz' internal | sort); do \
	  for name in $$(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\).*/\1/p' $$f); do \
	    echo "fuzz $$name in $$(dirname $$f)"; \
	    go test -run '^$$' -fuzz "^$$name$$" -fuzztime $(FUZZ_TIME) ./$$(dirname $$f); done; done

bench: build bench-packages
	./bench/run

# $(call install,packages): installs those that are missing, and only then asks for the network.
define install
	@names="$(1)"; if grep -qi ubuntu /etc/os-release; then names=$$(echo $$names | sed '$(UBUNTU_NAMES)'); fi; \
	missing=""; for p in $$names; do dpkg -s $$p 2>/dev/null | grep -q '^Status: install ok installed' || missing="$$missing $$p"; done; \
	[ -z "$$missing" ] || { echo "installing:$$missing"; $(SUDO) apt-get update -q && \
	  $(SUDO) env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $$missing; }
endef

check-go:
	@command -v go >/dev/null || { echo "Go 1.26 or newer is needed: see https://go.dev/doc/install"; exit 1; }

packages: check-go
	$(call install,$(BUILD_PACKAGES))

test-packages:
	$(call install,$(TEST_PACKAGES))

bench-packages:
	$(call install,$(BENCH_PACKAGES))

clean:
	rm -rf bin out
