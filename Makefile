# SPDX-License-Identifier: MIT
# coatbell: `make demo` runs it, `make check` tests it. See DEVELOPERS.md.

FLAVOUR ?= release
CC ?= gcc
PREFIX ?= /usr/local
DESTDIR ?=
OUT := build/$(FLAVOUR)

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow -Wstrict-prototypes \
  -Wmissing-prototypes -Wundef -Wvla -Wcast-qual -Wwrite-strings -Wformat=2 -Wswitch-enum \
  -Wnull-dereference -Wdouble-promotion
BASE_FLAGS := -std=c17 -Isrc $(WARN) -ffp-contract=off -fno-strict-overflow -MMD -MP
ifeq ($(WERROR),1)
BASE_FLAGS += -Werror
endif

ifeq ($(FLAVOUR),release)
FLAVOUR_FLAGS := -O2 -g -fPIE -fstack-protector-strong -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2
FLAVOUR_LINK := -pie -Wl,-z,relro,-z,now
else ifeq ($(FLAVOUR),clang)
CC := clang
FLAVOUR_FLAGS := -O1 -g -fPIE
FLAVOUR_LINK := -pie
else ifeq ($(FLAVOUR),asan)
FLAVOUR_FLAGS := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
FLAVOUR_LINK := -fsanitize=address,undefined
else ifeq ($(FLAVOUR),fuzz)
CC := clang
FLAVOUR_FLAGS := -O1 -g -fno-omit-frame-pointer -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all
FLAVOUR_LINK := -fsanitize=address,undefined
else ifeq ($(FLAVOUR),coverage)
FLAVOUR_FLAGS := -O0 -g --coverage
FLAVOUR_LINK := --coverage
else
$(error FLAVOUR is release, clang, asan, fuzz or coverage, not $(FLAVOUR))
endif

pkg = $(shell pkg-config $(1) $(2) 2>/dev/null)
LIBS = $(call pkg,--libs,ncursesw sqlite3 yaml-0.1 jansson libutf8proc) -lm
BELL_LIBS = $(call pkg,--libs,gio-2.0)

objects = $(patsubst src/%.c,$(OUT)/%.o,$(wildcard src/$(1)/*.c))
BASE_O := $(call objects,base)
CORE_O := $(call objects,core)
VIEW_O := $(call objects,view)
REST_O := $(call objects,shell) $(call objects,command)
BELL_O := $(call objects,bell)
SUPPORT_O := $(patsubst tests/%.c,$(OUT)/tests/%.o,$(wildcard tests/support/*.c))

ARCHIVES := $(OUT)/libview.a $(OUT)/libcore.a $(OUT)/libbase.a

.PHONY: all programs tests check demo layers install uninstall clean deps deps-check bench fuzz \
  reference unit-tests
.DELETE_ON_ERROR:
.SECONDARY:

all: programs
	@ln -sfn $(FLAVOUR)/coatbell build/coatbell
	@ln -sfn $(FLAVOUR)/coatbell-bell build/coatbell-bell

programs: $(OUT)/coatbell $(OUT)/coatbell-bell

$(OUT)/coatbell: $(OUT)/main.o $(REST_O) $(ARCHIVES)
	$(CC) $(FLAVOUR_LINK) -o $@ $(OUT)/main.o $(REST_O) $(ARCHIVES) $(LIBS)

$(OUT)/coatbell-bell: $(BELL_O)
	$(CC) $(FLAVOUR_LINK) -o $@ $(BELL_O) $(BELL_LIBS)

$(OUT)/libbase.a: $(BASE_O)
$(OUT)/libcore.a: $(CORE_O)
$(OUT)/libview.a: $(VIEW_O)
$(OUT)/librest.a: $(REST_O)
$(OUT)/libsupport.a: $(SUPPORT_O)
$(OUT)/%.a:
	@rm -f $@
	@ar rcs $@ $^

# Third-party flags go to the one file that needs them; feature macros to the edges only.
$(OUT)/base/utf8.o: EXTRA = $(call pkg,--cflags,libutf8proc)
$(OUT)/shell/term.o: EXTRA = -D_GNU_SOURCE $(filter-out -D%,$(call pkg,--cflags,ncursesw))
$(OUT)/shell/yaml.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,yaml-0.1)
$(OUT)/shell/jsonl.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,jansson)
$(OUT)/shell/store.o $(OUT)/shell/migrate.o: EXTRA = -D_GNU_SOURCE $(call pkg,--cflags,sqlite3)
$(OUT)/shell/paths.o: EXTRA = -D_GNU_SOURCE -DCB_PREFIX='"$(PREFIX)"'
$(OUT)/bell/%.o: EXTRA = -D_GNU_SOURCE $(patsubst -I%,-isystem %,$(call pkg,--cflags,gio-2.0))
$(OUT)/shell/%.o: EXTRA = -D_GNU_SOURCE

$(OUT)/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	$(CC) $(BASE_FLAGS) $(FLAVOUR_FLAGS) $(CFLAGS) $(EXTRA) -c -o $@ $<

$(OUT)/tests/%.o: tests/%.c Makefile
	@mkdir -p $(@D)
	$(CC) $(BASE_FLAGS) -Itests -D_GNU_SOURCE -Wno-missing-prototypes -Wno-double-promotion $(FLAVOUR_FLAGS) $(CFLAGS) -c -o $@ $<

# Tests. A unit test links its own floor and those below; the others link everything but main.
TESTS_BASE := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/unit/base/test_*.c))
TESTS_CORE := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/unit/core/test_*.c))
TESTS_VIEW := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/unit/view/test_*.c))
TESTS_ALL := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/unit/shell/test_*.c \
  tests/unit/command/test_*.c tests/reference/test_*.c tests/property/test_*.c \
  tests/screen/test_*.c tests/fault/test_*.c tests/terminal/test_*.c))
TEST_TOOLS := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/tools/*.c))
FUZZ_REPLAY := $(patsubst tests/%.c,$(OUT)/tests/%,$(wildcard tests/fuzz/fuzz_*.c))

$(TESTS_BASE): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/libbase.a
	$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_CORE): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/libcore.a $(OUT)/libbase.a
	$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_VIEW): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(ARCHIVES)
	$(CC) $(FLAVOUR_LINK) -o $@ $^ -lcmocka $(call pkg,--libs,libutf8proc) -lm
$(TESTS_ALL) $(TEST_TOOLS): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES)
	$(CC) $(FLAVOUR_LINK) -o $@ $(filter-out %.a,$^) $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES) -lcmocka $(LIBS)
ifeq ($(FLAVOUR),fuzz)
$(FUZZ_REPLAY): $(OUT)/%: $(OUT)/%.o $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES)
	$(CC) -fsanitize=fuzzer,address,undefined -o $@ $(filter-out %.a,$^) $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES) $(LIBS)
else
$(FUZZ_REPLAY): $(OUT)/%: $(OUT)/%.o $(OUT)/tests/fuzz/replay.o $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES)
	$(CC) $(FLAVOUR_LINK) -o $@ $(filter-out %.a,$^) $(OUT)/libsupport.a $(OUT)/librest.a $(ARCHIVES) $(LIBS)
endif

tests: $(TESTS_BASE) $(TESTS_CORE) $(TESTS_VIEW) $(TESTS_ALL) $(TEST_TOOLS) $(FUZZ_REPLAY)

clean:
	rm -rf build

-include $(shell find build/$(FLAVOUR) -name '*.d' 2>/dev/null)
