# What holders are handed, by GDAL and in a real browser: check.sh PROGRAM OUT
set -euo pipefail
program=$1 out=$2/handed
here=$(cd "$(dirname "$0")" && pwd)
rm -rf "$out" && mkdir -p "$out"
"$program" demo --out "$out/demo" --no-window >/dev/null
book="$out/demo/tarrow-sands.gpkg"
for permission in "Upper sand" "Foreshore"; do
  "$program" share --book "$book" --permission "$permission" --out "$out/$permission" --no-receipt >/dev/null
done
"$program" route --book "$book" --after 2026-11-28 --card "$out/demo/card.html" >/dev/null
"$PYTHON" "$here/check.py" "$out/Upper sand" "$out/Foreshore"
# The browser is large: where there is none it is not fetched, and that is said.
browser=$(command -v chromium || command -v chromium-browser || true)
if [ -z "$browser" ]; then
  echo "SKIPPED: no chromium, so no page was opened, printed or held against axe-core"
  exit 0
fi
npm install --silent --no-save --prefix "$out" playwright-core@1.65.1 axe-core@4.14.1
cp "$here/pages.mjs" "$out"
pages=("$out/Upper sand/report.html" "$out/Foreshore/report.html" "$out/demo/report.html" "$out/demo/card.html")
(cd "$out" && BROWSER="$browser" node pages.mjs "${pages[@]}")
