#!/usr/bin/env bash
# check.sh PROGRAM OUT: the sea that routes on the demo beach assume, against py-wave-runup.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
"$PYTHON" "$here/check.py" "$1" "$2/checked"
