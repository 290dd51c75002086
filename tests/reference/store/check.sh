# A book with every kind of record, read and then written into by GDAL: check.sh PROGRAM OUT
set -euo pipefail
cd "$(dirname "$0")/../../.."
export SCOURLINE_STORE_OUT="$2/store"
cargo test --quiet --test rooms -- --ignored --exact store::elsewhere::elsewhere
"$PYTHON" tests/reference/store/check.py "$2/store/book.gpkg" "$2/store/expected.json"
cargo test --quiet --test rooms -- --ignored --exact store::elsewhere::after_gdal
