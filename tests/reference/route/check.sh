# The route's files against their standards, its emergency numbers against the list: check.sh PROGRAM OUT
set -euo pipefail
cd "$(dirname "$0")/../../.."
"$PYTHON" -m pip install --quiet --disable-pip-version-check xmlschema==4.3.2 phonenumbers==9.0.43 tzdata==2026.6
"$PYTHON" tests/reference/route/check.py "$1" "$2"
