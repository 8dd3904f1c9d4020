# The front door. Everything is done by prepare.py, so that Windows has the same door without make.

PYTHON ?= python3
ARGS ?=
PREPARE = @$(PYTHON) prepare.py

.PHONY: help setup run test check audit bench bench-speech fuzz soak kill-loop pictures mutants check-lowest schema lock phone-tree phone-trial phone-check deb

help:           ## say what can be done here (make run ARGS="..." hands arguments on)
	@sed -n 's/^\([a-z-]*\): *## /  make \1\t/p' $(MAKEFILE_LIST) | expand -t 22

setup:          ## set up what running needs, and nothing else
	$(PREPARE) setup

run:            ## set up, then start Walesong: window or terminal, microphone or practice recording
	$(PREPARE) run $(ARGS)

test:           ## set up, then check everything and run all tests
	$(PREPARE) test $(ARGS)

check:          ## only the checks: style, types, layers, spelling, dead code
	$(PREPARE) check

bench:          ## measure, and print a table for each measurement
	$(PREPARE) bench

bench-speech:   ## measure the hearing on many voices in noise (takes long)
	$(PREPARE) bench speech

fuzz:           ## try files and histories with slips in them for ten minutes (MINUTES=2 for less)
	@FUZZ_MINUTES=$(MINUTES) $(PYTHON) prepare.py bench fuzz

soak:           ## listen to two hours of sound and watch the memory (HOURS=0.5 for less)
	@SOAK_HOURS=$(HOURS) $(PYTHON) prepare.py bench soak

kill-loop:      ## kill the program many times over and look for anything lost (MINUTES=2 for less)
	@KILL_MINUTES=$(MINUTES) $(PYTHON) prepare.py bench kill_loop

audit:          ## measure words, contrast and targets of every screen on every device
	$(PREPARE) bench screens_audit

pictures:       ## draw the pictures of the README anew
	$(PREPARE) bench pictures

mutants:        ## put small faults into the code and tell which no test notices (takes hours)
	$(PREPARE) mutants $(ARGS)

check-lowest:   ## try the lowest versions of packages that are allowed (needs the network)
	$(PREPARE) check-lowest

schema:         ## write the journal's JSON Schema anew from the classes
	$(PREPARE) schema

phone-tree:     ## lay out what goes into a phone's package (ARGS="--library PATH/TO/libvosk.so")
	$(PREPARE) phone-tree $(ARGS)

phone-trial:    ## put a package together to try it on a phone (says of what; ARGS="--trust-parts")
	$(PREPARE) phone-trial $(ARGS)

phone-check:    ## look into that package without a phone
	$(PREPARE) phone-check $(ARGS)

deb:            ## make a Debian package with all that it needs (ARGS="--architecture arm64")
	$(PREPARE) deb $(ARGS)

lock:           ## choose the newest fitting versions of all packages anew
	$(PREPARE) lock
