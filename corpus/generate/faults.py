"""Check the collection of faults: every definition has its expectations, and they agree with expat about what is well-formed XML."""

from __future__ import annotations

import json
from pathlib import Path
from xml.parsers import expat

SEVERITIES = {"error", "warning", "information", "hint"}
KEYS = {"code", "severity", "line", "character"}


def problems(folder: Path) -> list[str]:
    """What is wrong with the collection in `folder`; empty if nothing is."""
    found: list[str] = []
    severity_of: dict[str, str] = {}
    expected: dict[Path, list[dict]] = {}
    for file in sorted(folder.rglob("*.expected.json")):
        stem = file.name.removesuffix(".expected.json")
        subjects = [path for end in (".machine.xml", ".xml", ".toml") if (path := file.with_name(stem + end)).is_file()]
        if len(subjects) != 1:
            found.append(f"{file}: {len(subjects)} files that it could be about")
            continue
        expected[subjects[0]] = json.loads(file.read_text(encoding="utf-8"))
        for finding in expected[subjects[0]]:
            if finding.keys() != KEYS or finding["severity"] not in SEVERITIES:
                found.append(f"{file}: a finding needs {sorted(KEYS)}: {finding}")
            elif severity_of.setdefault(finding["code"], finding["severity"]) != finding["severity"]:
                found.append(f"{file}: {finding['code']} has another severity elsewhere")
    for file in sorted(folder.rglob("*.xml")):
        if file not in expected:
            found.append(f"{file}: nothing says what is expected of it")

    form_errors = {
        finding["code"]
        for file, findings in expected.items()
        for finding in findings
        if file.parent.name == "form" and finding["severity"] == "error"
    }
    for file, findings in expected.items():
        if file.suffix != ".xml":
            continue
        complaint = _complaint(file.read_bytes())
        ill_formed = any(finding["code"] in form_errors for finding in findings)
        if (complaint is not None) != ill_formed:
            found.append(f"{file}: expected {'an error' if ill_formed else 'none'} of form, expat says {complaint}")
    return found


def _complaint(data: bytes) -> str | None:
    parser = expat.ParserCreate(namespace_separator=" ")
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        return str(error)
    return None
