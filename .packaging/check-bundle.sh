#!/usr/bin/env bash
# Runs a bundle with nothing in the environment: version, files, a lesson without and with a window.
set -euo pipefail
bundle=$(cd "$1" && pwd)
home=$(mktemp -d)
trap 'rm -rf "$home"' EXIT
bare() { env -i HOME="$home" LANG=C.UTF-8 "$@"; }

bare "$bundle/mode-trainer" --version
bare "$bundle/mode-trainer" validate "$bundle/_internal/trainer/data/lessons/01-first-flight.yaml"
bare "$bundle/mode-trainer" run "$bundle/_internal/trainer/data/lessons/01-first-flight.yaml" --json |
  tail -n 1
# The window stays open until it is stopped; it must neither end nor say anything by itself.
status=0
bare QT_QPA_PLATFORM=offscreen timeout 15 "$bundle/mode-trainer" 2>"$home/said" || status=$?
if [ "$status" != 124 ]; then
  cat "$home/said"
  echo "the window ended by itself with $status"
  exit 1
fi
grep -v 'propagateSizeHints' "$home/said" && exit 1
echo "the bundle runs: $(du -sh "$bundle" | cut -f1)"
