"""A kit: its tools and their calibrations."""

from __future__ import annotations

from sitelog.base.frozen import record, replace
from sitelog.files.records.lines import read_lines
from sitelog.files.source import Source
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.language.kinds import KIT
from sitelog.language.kinds.tool import Calibration, Tool


@record
class Kit:
    """One kit. Tools are found by their names in small letters; calibrations are in order of their day."""

    name: str
    file: str
    tools: dict[str, Tool]
    calibrations: dict[str, tuple[Calibration, ...]]
    findings: tuple[Finding, ...]
    text: tuple[str, ...] = ()  # every line as written


def read_kit(source: Source) -> Kit:
    """Read a kit."""
    findings: list[Finding] = list(source.findings)
    name = ""
    tools: dict[str, Tool] = {}
    calibrations: dict[str, list[Calibration]] = {}
    lines: list[tuple[Calibration, str]] = []
    for reader in read_lines(source, "kit", findings):
        if reader.entry.kind == "kit":
            if name:
                reader.say("duplicate-name", "a file is one kit; this is its second name")
            name = name or reader.name()
        elif reader.entry.kind in KIT:
            record = KIT[reader.entry.kind](reader)
            if isinstance(record, Tool):
                key = record.name.casefold()
                if key in tools:
                    reader.say("duplicate-name", f"`{record.name}` stands already in line {tools[key].line}")
                tools.setdefault(key, record)
            elif isinstance(record, Calibration):
                calibrations.setdefault(record.tool.casefold(), []).append(record)
                lines.append((record, reader.entry.text))
        findings += reader.findings
    for record, text in lines:
        if record.tool.casefold() not in tools:
            message = f"the kit has no tool `{record.tool}`"
            findings.append(
                finding("unknown-tool", message, source.file, record.line, 1, len(text) + 1, text)
            )
    if not name and (tools or not source.findings):
        findings.append(
            finding("bad-name", "the kit has no name", source.file, 1, 1, 2, help="begin it with `kit NAME`")
        )
    return Kit(
        name,
        source.file,
        {key: replace(tool, kit=name) for key, tool in tools.items()},
        {key: tuple(sorted(found, key=lambda one: one.day)) for key, found in calibrations.items()},
        tuple(findings),
        source.lines,
    )
