# SPDX-License-Identifier: MIT
# coatbell: `make demo` runs it, `make check` tests it, `make help` lists the rest.
# Nothing here needs more than make itself until .ci/install has been called.

FLAVOUR ?= release
ifeq ($(origin CC),default)
CC := gcc
endif
PREFIX ?= /usr/local
DESTDIR ?=
OUT := build/$(FLAVOUR)
MAKEFLAGS += --no-print-directory
Q := $(if $(filter 1,$(V)),,@)

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow -Wstrict-prototypes \
  -Wmissing-prototypes -Wundef -Wvla -Wcast-qual -Wwrite-strings -Wformat=2 -Wswitch-enum \
  -Wnull-dereference -Wdouble-promotion
BASE_FLAGS := -std=c17 -Isrc $(WARN) -ffp-contract=off -fno-strict-overflow -MMD -MP
ifeq ($(WERROR),1)
BASE_FLAGS += -Werror
endif

ifeq ($(FLAVOUR),release)
# The prefix map keeps the folder of the build out of the program.
FLAVOUR_FLAGS := -O2 -g -fPIE -fstack-protector-strong -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2 \
  '-ffile-prefix-map=$(CURDIR)=.'
FLAVOUR_LINK := -pie -Wl,-z,relro,-z,now
else ifeq ($(FLAVOUR),clang)
CC := clang
# clang 14 warns of the float in the C library's own NAN and INFINITY; gcc keeps watch instead.
FLAVOUR_FLAGS := -O1 -g -fPIE -Wno-double-promotion
FLAVOUR_LINK := -pie
else ifeq ($(FLAVOUR),asan)
FLAVOUR_FLAGS := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
FLAVOUR_LINK := -fsanitize=address,undefined
else ifeq ($(FLAVOUR),fuzz)
CC := clang
FLAVOUR_FLAGS := -O2 -g -Wno-double-promotion -fno-omit-frame-pointer -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
FLAVOUR_LINK := -fsanitize=address,undefined
else ifeq ($(FLAVOUR),coverage)
FLAVOUR_FLAGS := -O0 -g --coverage
FLAVOUR_LINK := --coverage
else ifeq ($(FLAVOUR),valgrind)
FLAVOUR_FLAGS := -O1 -g -fno-omit-frame-pointer
FLAVOUR_LINK :=
else ifeq ($(FLAVOUR),analyze)
FLAVOUR_FLAGS := -O1 -g -fanalyzer
FLAVOUR_LINK :=
else
$(error FLAVOUR is release, clang, asan, fuzz, valgrind, coverage or analyze, not $(FLAVOUR))
endif

pkg = $(shell pkg-config $(1) $(2) 2>/dev/null)
LIBS = $(call pkg,--libs,ncursesw sqlite3 yaml-0.1 jansson libutf8proc) -lm
BELL_LIBS = $(call pkg,--libs,libnotify gio-2.0) -pthread
GIO_LIBS = $(call pkg,--libs,gio-2.0)

objects = $(patsubst src/%.c,$(OUT)/%.o,$(sort $(wildcard src/$(1)/*.c)))
BASE_O := $(call objects,base)
CORE_O := $(call objects,core/*)
APP_O := $(call objects,app)
VIEW_O := $(call objects,view)
REST_O := $(call objects,shell) $(call objects,command)
BELL_O := $(call objects,bell)
SUPPORT_O := $(patsubst tests/%.c,$(OUT)/tests/%.o,$(wildcard tests/support/*.c))

ARCHIVES := $(OUT)/libview.a $(OUT)/libapp.a $(OUT)/libcore.a $(OUT)/libbase.a

.PHONY: all programs tests tools check demo layers install uninstall clean bench fuzz \
  reference coverage lint check-html help FORCE
.DELETE_ON_ERROR:
.SECONDARY:

all: programs
	@ln -sfn $(FLAVOUR)/coatbell build/coatbell
	@ln -sfn $(FLAVOUR)/coatbell-bell build/coatbell-bell

programs: $(OUT)/coatbell $(OUT)/coatbell-bell

$(OUT)/coatbell: $(OUT)/main.o $(REST_O) $(ARCHIVES)
	@echo "  link $@"
	$(Q)$(CC) $(FLAVOUR_LINK) $(LDFLAGS) -o $@ $(OUT)/main.o $(REST_O) $(ARCHIVES) $(LIBS)

$(OUT)/coatbell-bell: $(BELL_O)
	@echo "  link $@"
	$(Q)$(CC) $(FLAVOUR_LINK) $(LDFLAGS) -o $@ $(BELL_O) $(BELL_LIBS)

$(OUT)/libbase.a: $(BASE_O)
$(OUT)/libcore.a: $(CORE_O)
$(OUT)/libapp.a: $(APP_O)
$(OUT)/libview.a: $(VIEW_O)
$(OUT)/librest.a: $(REST_O)
$(OUT)/libsupport.a: $(SUPPORT_O)
$(OUT)/%.a:
	@mkdir -p $(@D) && rm -f $@
	$(Q)ar rcs $@ $^

# Third-party flags go to the one file that needs them; feature macros to the edges only.
$(OUT)/base/utf8.o: EXTRA = $(call pkg,--cflags,libutf8proc)
$(OUT)/shell/term.o: EXTRA = -D_GNU_SOURCE -DNCURSES_WIDECHAR=1 $(filter-out -D%,$(call pkg,--cflags,ncursesw))
$(OUT)/shell/yaml.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,yaml-0.1)
$(OUT)/shell/jsonl.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,jansson)
$(OUT)/shell/store.o $(OUT)/shell/store_%.o $(OUT)/shell/migrate.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,sqlite3)
$(OUT)/shell/paths.o: EXTRA = -D_GNU_SOURCE -DCB_PREFIX='"$(PREFIX)"'
$(OUT)/bell/%.o: EXTRA = -D_GNU_SOURCE $(patsubst -I%,-isystem %,$(call pkg,--cflags,libnotify gio-2.0)) -pthread
$(OUT)/shell/paths.o: $(OUT)/prefix

# What is kept beside the log is made by these files, and is worth nothing once they are others.
CODE_SUM := $(shell find src/core src/base src/shell/history.c src/shell/yaml.c src/shell/jsonl.c \
  -name '*.[ch]' | LC_ALL=C sort | xargs cat | cksum | tr ' ' -)
$(OUT)/shell/history.o: EXTRA = -D_GNU_SOURCE -DCB_CODE_SUM='"$(CC)-$(CODE_SUM)"'
$(OUT)/shell/history.o: $(OUT)/code_sum
$(OUT)/shell/%.o: EXTRA = -D_GNU_SOURCE

# Long loops over numbers: what a fuzzer could learn of them is not worth a third of its time.
ifeq ($(FLAVOUR),fuzz)
$(OUT)/core/learn/%.o: EXTRA = -fno-sanitize-coverage=trace-cmp,inline-8bit-counters,pc-table
endif

# Newer than what is made of them only when they say another thing than last time.
$(OUT)/code_sum: FORCE
	@mkdir -p $(@D)
	@echo '$(CC)-$(CODE_SUM)' | cmp -s - $@ || echo '$(CC)-$(CODE_SUM)' >$@
$(OUT)/prefix: FORCE
	@mkdir -p $(@D)
	@echo '$(PREFIX)' | cmp -s - $@ || echo '$(PREFIX)' >$@

$(OUT)/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	@echo "  $(CC) $<"
	$(Q)$(CC) $(BASE_FLAGS) $(FLAVOUR_FLAGS) $(CFLAGS) $(EXTRA) -c -o $@ $<

TEST_FLAGS := -Itests -D_GNU_SOURCE -Wno-missing-prototypes -Wno-double-promotion
$(OUT)/tests/%.o: tests/%.c Makefile
	@mkdir -p $(@D)
	@echo "  $(CC) $<"
	$(Q)$(CC) $(BASE_FLAGS) $(TEST_FLAGS) $(FLAVOUR_FLAGS) $(CFLAGS) -c -o $@ $<

# Tests. A unit test links its own floor and those below; the others link everything but main.
program = $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard $(1)))
TESTS_BASE := $(call program,tests/unit/base/test_*.c)
TESTS_CORE := $(call program,tests/unit/core/test_*.c)
TESTS_APP := $(call program,tests/unit/app/test_*.c)
TESTS_VIEW := $(call program,tests/unit/view/test_*.c)
TESTS_ALL := $(call program,tests/unit/shell/test_*.c tests/unit/command/test_*.c \
  tests/reference/test_*.c tests/kept/test_*.c tests/property/test_*.c tests/screen/test_*.c tests/fault/test_*.c \
  tests/terminal/test_*.c)
BARE_NOTIFY := $(OUT)/tests/tools/bare_notify
TEST_TOOLS := $(filter-out $(BARE_NOTIFY),$(call program,tests/tools/*.c))
FUZZ_TARGETS := $(call program,tests/fuzz/fuzz_*.c)
EVERYTHING := $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES)

link_test = @echo "  link $@"; mkdir -p $(@D)
$(TESTS_BASE): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/libbase.a
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_CORE): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/libcore.a $(OUT)/libbase.a
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_APP): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(filter-out %/libview.a,$(ARCHIVES))
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_VIEW): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(ARCHIVES)
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
# The stand-in for a notification daemon is the one test program that speaks D-Bus itself.
$(OUT)/tests/tools/mock_notify.o: CFLAGS += $(patsubst -I%,-isystem %,$(call pkg,--cflags,gio-2.0))
$(OUT)/tests/tools/mock_notify: LIBS += $(GIO_LIBS)
# The least program of libnotify, to compare the bell with: nothing else in it.
$(BARE_NOTIFY).o: CFLAGS += $(patsubst -I%,-isystem %,$(call pkg,--cflags,libnotify gio-2.0))
$(BARE_NOTIFY): $(BARE_NOTIFY).o
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $< $(BELL_LIBS)
# The bell's side of the socket to the bench, with a worker that shows nothing.
$(OUT)/tests/fuzz/fuzz_child.o: CFLAGS += $(patsubst -I%,-isystem %,$(call pkg,--cflags,gio-2.0))
$(OUT)/tests/fuzz/fuzz_child: LIBS += $(OUT)/bell/socket.o $(GIO_LIBS) -pthread
$(OUT)/tests/fuzz/fuzz_child: $(OUT)/bell/socket.o
# The one piece of the tests that reads JSON.
$(OUT)/tests/support/plan_case.o: CFLAGS += $(patsubst -I%,-isystem %,$(call pkg,--cflags,jansson))
$(TESTS_ALL) $(TEST_TOOLS): $(OUT)/%: $(OUT)/%.o $(EVERYTHING)
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $< $(EVERYTHING) -lcmocka $(LIBS)
ifeq ($(FLAVOUR),fuzz)
$(FUZZ_TARGETS): $(OUT)/%: $(OUT)/%.o $(EVERYTHING)
	$(link_test)
	$(Q)$(CC) -fsanitize=fuzzer,address,undefined -o $@ $< $(EVERYTHING) -lcmocka $(LIBS)
else
$(FUZZ_TARGETS): $(OUT)/%: $(OUT)/%.o $(OUT)/tests/fuzz/replay.o $(EVERYTHING)
	$(link_test)
	$(Q)$(CC) $(FLAVOUR_LINK) -o $@ $< $(OUT)/tests/fuzz/replay.o $(EVERYTHING) -lcmocka $(LIBS)
endif

# Preloaded into the real program, so without sanitizers.
FAULT_SHIM := build/release/tests/fault/shim.so
$(FAULT_SHIM): tests/fault/shim.c tests/fault/shim.h Makefile
	@mkdir -p $(@D)
	@echo "  link $@"
	$(Q)gcc -std=c17 -O1 -g $(WARN) $(if $(filter 1,$(WERROR)),-Werror) -Itests -D_GNU_SOURCE -Wno-missing-prototypes -fPIC -shared -o $@ $< -ldl

tests: $(TESTS_BASE) $(TESTS_CORE) $(TESTS_APP) $(TESTS_VIEW) $(TESTS_ALL) $(TEST_TOOLS) $(BARE_NOTIFY) $(FUZZ_TARGETS)
tools: $(TEST_TOOLS) $(BARE_NOTIFY) $(FAULT_SHIM)

# The two commands for a machine with only git and make: install what is missing, then build in
# a make of its own, which sees what has come.
demo:
	@.ci/install build
	@$(MAKE) FLAVOUR=release all
	@exec build/coatbell demo

check:
	@.ci/install build test
	@MAKE='$(MAKE)' tests/check.sh

layers:
	@$(MAKE) FLAVOUR=release all
	@tests/layers.sh

# Longer ones, each for its own day.
SECONDS ?= 60
fuzz:
	@.ci/install build test fuzz
	@$(MAKE) FLAVOUR=release build/release/tests/tools/bench_hostile
	@$(MAKE) FLAVOUR=fuzz tests-fuzz
	@tests/fuzz/run.sh '$(SECONDS)'
tests-fuzz: $(FUZZ_TARGETS)
.PHONY: tests-fuzz

# Memory that was never set, which the sanitizers do not see.
valgrind:
	@.ci/install build test valgrind
	@$(MAKE) FLAVOUR=valgrind programs
	@$(MAKE) -k FLAVOUR=valgrind tests-unit
	@tests/valgrind.sh
tests-unit: $(TESTS_BASE) $(TESTS_CORE) $(TESTS_APP) $(TESTS_VIEW) \
  $(foreach test,$(TESTS_ALL),$(if $(findstring /tests/unit/,$(test)),$(test)))
.PHONY: valgrind tests-unit

# The same tests over many more logs, recipes, flips and faults than make check has time for.
sweep:
	@.ci/install build test
	@MAKE='$(MAKE)' tests/sweep.sh
.PHONY: sweep

# The pictures of README.md, from the screens as they are.
pictures:
	@$(MAKE) FLAVOUR=release all
	@tests/seal.sh tests/tools/pictures.sh man/pictures
.PHONY: pictures

# Measurements, printed and never judged; QUICK=1 for the page alone, on less.
bench:
	@.ci/install build test bench
	@$(MAKE) FLAVOUR=release all tools
	@tests/bench.sh $(if $(QUICK),quick)

# Makes the kept reference data again, with whatever outside tools are there.
reference:
	@tests/reference/make.sh

# Writes the completions again where options have changed; tests/house compares.
COMPLETIONS := bash zsh fish
completions:
	@$(MAKE) FLAVOUR=release build/release/tests/tools/make_completions
	@for shell in $(COMPLETIONS); do \
	  tests/seal.sh sh -c "build/release/tests/tools/make_completions $$shell \
	    <shared/completions/coatbell.$$shell >build/completion" && \
	  cp build/completion shared/completions/coatbell.$$shell || exit 1; done
.PHONY: completions

# src/base/version.h has the version; this writes it wherever else it has to stand.
VERSION := $(shell sed -n 's/.*CB_VERSION "\(.*\)"/\1/p' src/base/version.h)
version:
	@sed -i 's/^\.Os.*/.Os coatbell $(VERSION)/' man/*.[1-9]
	@sed -i 's/<release version="[^"]*"/<release version="$(VERSION)"/' shared/desktop/*.metainfo.xml
.PHONY: version

coverage:
	@$(MAKE) FLAVOUR=coverage programs tests
	@tests/coverage.sh

lint:
	@.ci/install build lint
	@tests/lint.sh

# As .clang-format says; Debian 12's clang-format is the one that counts.
format:
	@find src tests -name '*.[ch]' | xargs clang-format -i
.PHONY: format

check-html:
	@if [ -x tests/html/check.sh ]; then \
	  $(MAKE) FLAVOUR=release all && tests/html/check.sh; \
	else echo "check-html: no pages to check"; fi

# What is installed, as FILE:PLACE below PREFIX; DEVELOPERS.md has the list. Program and data lie to each
# other as src/shell/paths.c looks for them.
DESKTOP_ID := org.coatbell.coatbell
INSTALLED = $(OUT)/coatbell:bin/coatbell $(OUT)/coatbell-bell:libexec/coatbell/coatbell-bell \
  $(foreach file,$(wildcard shared/*.yaml shared/*/*.yaml recipes/*.yaml), \
    $(file):share/coatbell/$(file:shared/%=%)) \
  $(foreach page,$(wildcard man/*.[1-9]), \
    $(page):share/man/man$(subst .,,$(suffix $(page)))/$(notdir $(page))) \
  shared/desktop/$(DESKTOP_ID).desktop:share/applications/$(DESKTOP_ID).desktop \
  shared/desktop/$(DESKTOP_ID).metainfo.xml:share/metainfo/$(DESKTOP_ID).metainfo.xml \
  shared/desktop/$(DESKTOP_ID).svg:share/icons/hicolor/scalable/apps/$(DESKTOP_ID).svg \
  shared/completions/coatbell.bash:share/bash-completion/completions/coatbell \
  shared/completions/coatbell.zsh:share/zsh/site-functions/_coatbell \
  shared/completions/coatbell.fish:share/fish/vendor_completions.d/coatbell.fish \
  LICENSE:share/doc/coatbell/LICENSE

install: programs
	@for pair in $(INSTALLED); do \
	  place='$(DESTDIR)$(PREFIX)'/$${pair#*:}; \
	  case $$pair in *:bin/* | *:libexec/*) mode=755 ;; *) mode=644 ;; esac; \
	  echo "  install $$place"; \
	  install -D -m $$mode "$${pair%%:*}" "$$place" || exit 1; done

# Folders that are ours alone go as well.
uninstall:
	@for pair in $(INSTALLED); do rm -f '$(DESTDIR)$(PREFIX)'/$${pair#*:} || exit 1; done
	@for folder in share/coatbell/recipes share/coatbell share/doc/coatbell libexec/coatbell; do \
	  rmdir '$(DESTDIR)$(PREFIX)'/$$folder 2>/dev/null || true; done

# All that is tracked, or where there is no git all that is there, as one archive. The same files give the
# same bytes: in order of name, of nobody, of the day of the newest release.
DIST := coatbell-$(VERSION)
DIST_FILES = $(shell if [ -e .git ]; then git -c safe.directory='*' ls-files; else find . -type f ! -path './build/*' | cut -c3-; fi)
DIST_DAY = $(shell sed -n 's/.*<release .*date="\([-0-9]*\)".*/\1/p' shared/desktop/*.metainfo.xml | head -n 1)
dist:
	@mkdir -p build
	@tar --create --format=ustar --sort=name --owner=0 --group=0 --numeric-owner --mtime='$(DIST_DAY) 00:00:00Z' \
	  --mode=u=rwX,go=rX --transform='s,^,$(DIST)/,' --file=build/$(DIST).tar $(sort $(DIST_FILES))
	@gzip -9nf build/$(DIST).tar
	@echo build/$(DIST).tar.gz
.PHONY: dist

help:
	@echo "make             the program, at build/coatbell"
	@echo "make demo        installs what is missing, builds, opens the sample unit"
	@echo "make check       installs what is missing, builds, runs every test"
	@echo "make install     to PREFIX (/usr/local), under DESTDIR; make uninstall takes it away"
	@echo "make layers      the rules of the house alone"
	@echo "make fuzz        SECONDS=60 for each parser"
	@echo "make valgrind    the unit tests and an evening under memcheck"
	@echo "make sweep       property tests over many more logs"
	@echo "make bench       measurements, at the end as one page; QUICK=1 for a short one"
	@echo "make pictures    the pictures of README.md again, from the screens as they are"
	@echo "make reference   makes the reference data again (R, JAGS, MiniZinc, node where they are there)"
	@echo "make dist        the source as one archive, in build"
	@echo "make version     writes src/base/version.h's version into the manual and the metainfo"
	@echo "make completions writes the shells' completions again, after a change of options"
	@echo "make coverage    which lines the tests run; fails when they are too few"
	@echo "make lint        the format, analyzers and proof-reading"
	@echo "make format      lays out the code as .clang-format says"
	@echo "make check-html  the review's page in a browser"
	@echo "make clean       takes build away"

clean:
	rm -rf build

-include $(shell find $(OUT) -name '*.d' 2>/dev/null)
