# UNTESTED: nobody has run this on Windows yet. Builds build\bundle\dist\mode-trainer.
$ErrorActionPreference = "Stop"
$here = Split-Path -Parent $MyInvocation.MyCommand.Path
$out = Join-Path $here "..\build\bundle"
py -3 -m venv "$out\venv"
& "$out\venv\Scripts\pip.exe" install --quiet "$here\.." "pyinstaller>=6.10"
Push-Location $here
& "$out\venv\Scripts\pyinstaller.exe" --noconfirm --distpath "$out\dist" --workpath "$out\work" mode-trainer.spec
Pop-Location
& "$out\dist\mode-trainer\mode-trainer.exe" --version
