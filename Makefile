# rodbook: make, make check, make san, make lint, make bench, make install
VERSION = 0.1.0
SOVERSION = 0
VARIANT ?= release
PREFIX ?= /usr/local
BUILD = build/$(VARIANT)

CC ?= cc
PKG_CONFIG ?= pkg-config
PACKAGES = yaml-0.1 jansson libsodium gsl
PROGRAM_PACKAGES = libedit

OURS = -std=c17 -Wall -Wextra -Wconversion -Wshadow -ffp-contract=off -fno-math-errno -fvisibility=default -fPIC -D_GNU_SOURCE -Iinclude \
       -DRODBOOK_VERSION='"$(VERSION)"'
OURS_release = -O2 -g
OURS_debug = -O0 -g3
OURS_san = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
OURS_cov = -O0 -g --coverage
LINK_san = -fsanitize=address,undefined
LINK_cov = --coverage
ifeq ($(filter $(VARIANT),release debug san cov),)
$(error VARIANT is one of release, debug, san, cov)
endif

ALL_CFLAGS = $(OURS) $(OURS_$(VARIANT)) $(shell $(PKG_CONFIG) --cflags $(PACKAGES) $(PROGRAM_PACKAGES)) $(CFLAGS)
ALL_LDFLAGS = -Wl,--as-needed $(LINK_$(VARIANT)) $(LDFLAGS)

# GSL's archives where they are there: the program then carries the few functions that it calls, and does not load
# all of GSL in each run. The shared library names libgsl as any other.
GSL_ARCHIVES := $(wildcard $(addprefix $(shell $(PKG_CONFIG) --variable=libdir gsl)/,libgsl.a libgslcblas.a))
GSL_LIBS = $(if $(word 2,$(GSL_ARCHIVES)),$(GSL_ARCHIVES),$(shell $(PKG_CONFIG) --libs gsl))
SHARED_LIBS = $(shell $(PKG_CONFIG) --libs $(PACKAGES)) -lm
LIBS = $(shell $(PKG_CONFIG) --libs $(filter-out gsl,$(PACKAGES))) $(GSL_LIBS) -lm
PROGRAM_LIBS = $(LIBS) $(shell $(PKG_CONFIG) --libs $(PROGRAM_PACKAGES))

ROOMS = base record level site job sheet
LIB_SRC = $(wildcard $(ROOMS:%=src/%/*.c))
CMD_SRC = $(wildcard src/cmd/*.c)
LIB_OBJ = $(LIB_SRC:%.c=$(BUILD)/%.o)
CMD_OBJ = $(CMD_SRC:%.c=$(BUILD)/%.o)
TEST_SRC = $(wildcard tests/*/test_*.c)
TEST_BIN = $(TEST_SRC:%.c=$(BUILD)/%)

PROGRAM = $(BUILD)/rodbook
STATIC = $(BUILD)/librodbook.a
SHARED = $(BUILD)/librodbook.so.$(VERSION)

all: $(PROGRAM) $(STATIC) $(SHARED) $(BUILD)/rodbook.pc

$(BUILD)/%.o: %.c Makefile
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

# Its headers only: the library is loaded when a drawing is asked for.
DRAWING = $(subst -I/,-isystem /,$(shell $(PKG_CONFIG) --cflags pangocairo libpng))
$(BUILD)/src/sheet/canvas_cairo.o: OURS += $(DRAWING)

# Its loops over columns go two at a time where the compiler sees to it; the bits stay the same.
$(BUILD)/src/level/net_front.o: OURS_release += -O3

$(STATIC): $(LIB_OBJ)
	rm -f $@
	$(AR) rcs $@ $^

$(SHARED): $(LIB_OBJ)
	$(CC) -shared -Wl,-soname,librodbook.so.$(SOVERSION) $(ALL_LDFLAGS) -o $@ $^ $(SHARED_LIBS)

$(PROGRAM): $(CMD_OBJ) $(STATIC)
	$(CC) $(ALL_LDFLAGS) -o $@ $^ $(PROGRAM_LIBS)

$(BUILD)/rodbook.pc: FORCE # PREFIX may be another this time
	@mkdir -p $(@D)
	printf '%s\n' 'prefix=$(PREFIX)' 'libdir=$${prefix}/lib' 'includedir=$${prefix}/include' '' 'Name: rodbook' \
	    'Description: level loops and grade reduction' 'Version: $(VERSION)' 'Requires.private: $(PACKAGES)' \
	    'Libs: -L$${libdir} -lrodbook' 'Cflags: -I$${includedir}' > $@

# ---- the manual page ----

$(BUILD)/tools/%.o: OURS += -Isrc/cmd

$(BUILD)/manual: $(BUILD)/tools/manual.o $(filter-out %/main.o,$(CMD_OBJ)) $(STATIC)
	$(CC) $(ALL_LDFLAGS) -o $@ $^ $(PROGRAM_LIBS)

manual: $(BUILD)/manual
	$(BUILD)/manual > docs/rodbook.1

# ---- tests ----

TEST_LIBS = $(shell $(PKG_CONFIG) --libs cmocka gsl) $(LIBS) -lm

$(BUILD)/tests/%.o: OURS += -Itests

$(TEST_BIN): $(BUILD)/%: $(BUILD)/%.o $(STATIC)
	$(CC) $(ALL_LDFLAGS) -o $@ $^ $(TEST_LIBS)

# The program killed, refused, cut short and crowded; DEVELOPERS.md, "Faults".
FAULTS = $(BUILD)/tests/faults/faults $(BUILD)/tests/faults/short.so
FAULTS_OBJ = $(patsubst %.c,$(BUILD)/%.o,$(filter-out %/short.c,$(wildcard tests/faults/*.c)))

$(BUILD)/tests/faults/faults: $(FAULTS_OBJ)
	$(CC) $(ALL_LDFLAGS) -o $@ $^ $(shell $(PKG_CONFIG) --libs libsodium)

$(BUILD)/tests/faults/short.so: tests/faults/short.c Makefile # without the sanitizers: it is loaded before them
	@mkdir -p $(@D)
	$(CC) $(OURS) -O2 -g -shared -o $@ $<

# Records for tests/data/forms.
RECORDS = $(BUILD)/tests/data/records

$(RECORDS): $(BUILD)/tests/data/records.o $(STATIC)
	$(CC) $(ALL_LDFLAGS) -o $@ $^ $(TEST_LIBS)

faults: all $(FAULTS)
	ASAN_OPTIONS=detect_leaks=0 BUILD=$(BUILD) $(BUILD)/tests/faults/faults

check: all $(TEST_BIN) $(BUILD)/manual $(FAULTS) $(RECORDS)
	BUILD=$(BUILD) tests/run $(TEST_BIN) tests/rooms tests/manual tests/checks tests/data/forms tests/html/check tests/faults/quick

# The HTML sheets in a real browser: a minute or two. Wants chromium and npm; DEVELOPERS.md.
html-check: all build/html/node_modules
	BUILD=$(BUILD) tests/html/check whole

build/html/node_modules: tests/html/package.json tests/html/package-lock.json tests/html/.npmrc
	@mkdir -p build/html
	cp $^ build/html
	cd build/html && npm ci --ignore-scripts
	touch $@

golden: $(PROGRAM)
	for s in fernhill mill-lane quay-nursery; do for c in reduce close adjust stakes square grade posts concrete run; do \
	    $(PROGRAM) $$c surveys/$$s.yaml > tests/sheet/golden/$$s-$$c.txt || [ $$? -eq 1 ] || exit 1; done; \
	    rm -f $(BUILD)/golden*.svg && $(PROGRAM) sheet -o $(BUILD)/golden.svg surveys/$$s.yaml > $(BUILD)/golden.list || exit 1; \
	    xargs grep -h '^<text ' < $(BUILD)/golden.list > tests/sheet/golden/$$s-sheet.txt || exit 1; done
	for c in site pad; do $(PROGRAM) $$c surveys/fernhill.yaml > tests/sheet/golden/fernhill-$$c.txt || [ $$? -eq 1 ] || exit 1; done

# The engine's exact nets anew; and its bits with every compiler there is, slowly.
exact:
	python3 tests/level/exact.py > tests/level/exact.h

bits:
	tests/level/bits

san:
	LSAN_OPTIONS=suppressions=$(CURDIR)/tests/lsan.supp:print_suppressions=0 $(MAKE) VARIANT=san check

# ---- looking hard ----

TIDY ?= clang-tidy
CPPCHECK ?= cppcheck
C_FILES = $(LIB_SRC) $(CMD_SRC)

lint:
	$(TIDY) --quiet --warnings-as-errors='*' $(C_FILES) -- $(OURS) $(DRAWING)
	$(CPPCHECK) --quiet --std=c11 --enable=warning,performance,portability --inline-suppr --error-exitcode=1 \
	    -Iinclude '-DRODBOOK_VERSION="$(VERSION)"' src
	@mkdir -p build/analyse
	for f in $(C_FILES); do $(CC) $(OURS) $(DRAWING) -O2 -fanalyzer -Werror -c -o build/analyse/one.o $$f || exit 1; done

bench: all
	$(MAKE) -C bench VARIANT=$(VARIANT)

# How often the true reading is named first, over simulated loops; docs/method.md has the figures
LOOPS ?= 20000
suspects-trial: $(STATIC)
	@mkdir -p build/bench
	$(CC) $(OURS) $(OURS_$(VARIANT)) -o build/bench/suspects_trial bench/suspects_trial.c $(LINK_$(VARIANT)) $(STATIC) $(LIBS)
	build/bench/suspects_trial $(LOOPS)

# ---- install ----

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/lib/pkgconfig $(DESTDIR)$(PREFIX)/include/rodbook \
	    $(DESTDIR)$(PREFIX)/share/man/man1 $(DESTDIR)$(PREFIX)/share/rodbook/schema
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/rodbook
	install -m 644 $(STATIC) $(DESTDIR)$(PREFIX)/lib/librodbook.a
	install -m 755 $(SHARED) $(DESTDIR)$(PREFIX)/lib/
	ln -sf librodbook.so.$(VERSION) $(DESTDIR)$(PREFIX)/lib/librodbook.so.$(SOVERSION)
	ln -sf librodbook.so.$(SOVERSION) $(DESTDIR)$(PREFIX)/lib/librodbook.so
	install -m 644 $(BUILD)/rodbook.pc $(DESTDIR)$(PREFIX)/lib/pkgconfig/rodbook.pc
	install -m 644 include/rodbook/*.h $(DESTDIR)$(PREFIX)/include/rodbook/
	install -m 644 docs/schema/*.json $(DESTDIR)$(PREFIX)/share/rodbook/schema/
	install -m 644 docs/rodbook.1 $(DESTDIR)$(PREFIX)/share/man/man1/rodbook.1

clean:
	rm -rf build

FORCE:

.PHONY: FORCE all manual html-check golden exact bits check faults san lint bench suspects-trial install clean
.SECONDARY:

-include $(LIB_OBJ:.o=.d) $(CMD_OBJ:.o=.d) $(TEST_BIN:=.d) $(FAULTS_OBJ:.o=.d) $(RECORDS:=.d)
