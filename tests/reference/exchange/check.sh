# GPX counts beside gpxpy's, GeoJSON by GDAL and a schema: check.sh PROGRAM OUT
set -euo pipefail
cd "$(dirname "$0")/../../.."
"$PYTHON" tests/reference/exchange/check.py
