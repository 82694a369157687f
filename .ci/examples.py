"""Checks and proves every example with the command given, compares with the expected verdicts beside it, and has the
proof records checked again by two solvers.

examples.py PATH/TO/latchproof FOLDER
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

AGREES = {"proved": ("holds", "example"), "refuted": ("absent", "impossible")}
"""What the check of a record may say of a claim with this verdict."""


def main(command: str, folder: str) -> int:
    wrong = 0
    files = 0
    for expected in sorted(Path(folder).glob("*/expected.toml")):
        for name, verdicts in tomllib.loads(expected.read_text(encoding="utf-8")).items():
            files += 1
            faults = compare(command, expected.parent / name, verdicts)
            wrong += len(faults)
            print(f"{expected.parent / name}: {len(verdicts)} claims, {', '.join(faults) or 'as expected'}", flush=True)
    print(f"{files} files, {wrong} differences")
    return 1 if wrong or not files else 0


def compare(command: str, path: Path, expected: dict[str, str]) -> list[str]:
    checked = subprocess.run([command, "check", str(path)], check=False)
    if checked.returncode:
        return [f"check ends with {checked.returncode}"]
    with tempfile.TemporaryDirectory() as folder:
        options = ["--no-cache", "--time-limit", "120", "--format", "json", "--certificates", folder]
        proved = subprocess.run([command, "prove", *options, str(path)], stdout=subprocess.PIPE, text=True, check=False)
        options = ["--solver", "both", "--format", "json"]
        again = subprocess.run(
            [command, "recheck", *options, str(path), folder], stdout=subprocess.PIPE, text=True, check=False
        )
    wanted = 1 if "refuted" in expected.values() else 0
    if proved.returncode != wanted:
        return [f"prove ends with {proved.returncode}, not {wanted}"]
    looked = subprocess.run([command, "hazards", "--time-limit", "120", str(path)], stdout=subprocess.PIPE, check=False)
    if looked.returncode != wanted:
        return [f"hazards ends with {looked.returncode}, not {wanted}"]
    if again.returncode != wanted:
        return [f"recheck ends with {again.returncode}, not {wanted}"]
    [file] = json.loads(proved.stdout)["files"]
    found = {claim["name"]: claim["verdict"] for claim in file["claims"]}
    records = {claim["name"]: claim["result"] for claim in json.loads(again.stdout)["claims"]}
    wrong = [f"{name} is {verdict}, and its record: {records[name]}" for name, verdict in found.items()
             if records[name] not in AGREES[verdict]]  # fmt: skip
    if wrong:
        return wrong
    unwritten = {name for name in found.keys() - expected.keys() if name.startswith("one_driver.")}
    expected = expected | dict.fromkeys(unwritten, "proved")
    return [
        f"{name} is {found.get(name)}, not {expected.get(name)}"
        for name in sorted(found.keys() | expected.keys())
        if found.get(name) != expected.get(name)
    ]


if __name__ == "__main__":
    raise SystemExit(main(*sys.argv[1:]))
