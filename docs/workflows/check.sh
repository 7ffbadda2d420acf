#!/usr/bin/env bash
# Checks a collection of recipes on any runner that has git, bash and Python 3.11 or newer, and writes their batch
# sheets. Run it in the top folder of the collection's repository:
#
#   bash check.sh               checks everything
#   bash check.sh origin/main   reports only on recipes that this branch changes since it left origin/main
#
# It leaves reports/findings.json, reports/glost.sarif and reports/sheets. The exit status is the worst of all: 0 nothing
# was found, 1 something was found, 2 something could not be read or installed.
set -u

# Where glost is taken from: write your own address and revision here. A glost on the path is taken as it is.
address=${GLOST:-git+https://example.org/glost@v0.1.0}

if ! command -v glost >/dev/null; then
    environment=$(mktemp -d)
    trap 'rm -rf "$environment"' EXIT
    python3 -m venv "$environment" && "$environment/bin/pip" install --quiet "$address" || exit 2
    PATH=$environment/bin:$PATH
fi

worst=0
run() {
    "$@"
    local status=$?
    [ "$status" -le "$worst" ] || worst=$status
}

mkdir -p reports || exit 2
run glost format --check ${1:+"--changed=$1"}
run glost lint ${1:+"--changed=$1"} --output text --output json=reports/findings.json --output sarif=reports/glost.sarif
[ "$worst" -ne 0 ] || run glost convert --to sheet --out reports/sheets
exit "$worst"
