#!/usr/bin/env bash
# UNTESTED: nobody has run this on macOS yet. Builds build/bundle/dist/Mode trainer.app, unsigned.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
out="$here/../build/bundle"
python3 -m venv "$out/venv"
"$out/venv/bin/pip" install --quiet "$here/.." 'pyinstaller>=6.10'
(cd "$here" && "$out/venv/bin/pyinstaller" --noconfirm \
  --distpath "$out/dist" --workpath "$out/work" mode-trainer.spec)
"$out/dist/mode-trainer/mode-trainer" --version
