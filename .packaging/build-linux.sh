#!/usr/bin/env bash
# Builds dist/mode-trainer, a folder that runs without Python, and checks that it does.
# Usage: .packaging/build-linux.sh [FOLDER]   (default: build below the checkout, never committed)
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
out=$(mkdir -p "${1:-$here/../build/bundle}" && cd "${1:-$here/../build/bundle}" && pwd)

python3 -m venv "$out/venv"
"$out/venv/bin/pip" install --quiet "$here/.." 'pyinstaller>=6.10'
(cd "$here" && "$out/venv/bin/pyinstaller" --noconfirm --log-level WARN \
  --distpath "$out/dist" --workpath "$out/work" mode-trainer.spec)
bash "$here/check-bundle.sh" "$out/dist/mode-trainer"
