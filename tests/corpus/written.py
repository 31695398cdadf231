"""Records as text, one line each, short enough to be read and compared by eye."""

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

from sitelog.base.frozen import fields_of, is_record
from sitelog.files.records import read_kit, read_log, read_sheet
from sitelog.files.source import Source
from sitelog.findings import Finding
from sitelog.language.kinds.base import Clock, Condition, Place, Record, Value
from sitelog.language.kinds.requirement import Factor, Limits, Requirement
from sitelog.language.kinds.tool import Calibration, Tool
from sitelog.language.syntax import Token
from sitelog.notation.places import compress
from sitelog.notation.quantities import Quantity
from tests.corpora import finding_text


def written(source: Source) -> tuple[list[str], list[str]]:
    """The records and the findings of a file: the one place that calls the rooms under test."""
    if source.role == "sheet":
        sheet = read_sheet(source)
        head = _filled(
            f"sheet {sheet.name}",
            revision=sheet.revision,
            title=sheet.title,
            source=sheet.source,
            guard=sheet.guard,
            based_on=sheet.based_on,
            same=sheet.same,
            states=sheet.states,
            stages=sheet.stages,
            retest=sheet.retest,
            without=sheet.without,
        )
        return [head, *_asked(sheet.requirements)], _findings(sheet.findings)
    if source.role == "kit":
        kit = read_kit(source)
        listed = [*kit.tools.values(), *(one for found in kit.calibrations.values() for one in found)]
        listed.sort(key=lambda one: one.line)
        return [f"kit {kit.name}", *map(_kit_line, listed)], _findings(kit.findings)
    log = read_log(source)
    lines = [
        f"{line.entry.number} {line.entry.kind}{'' if line.entry.kind == '?' else ' ?'}"
        if line.record is None
        else _record(line.record)
        for line in log.lines
    ]
    return lines, _findings(log.findings)


def _findings(findings: Iterable[Finding]) -> list[str]:
    order = sorted(findings, key=lambda finding: (finding.line, finding.column))
    return [
        finding_text(
            f"{finding.line}:{finding.column}-{finding.end_column} {finding.severity} {finding.slug}", finding
        )
        for finding in order
    ]


def _record(record: Record) -> str:
    head = record.head
    assert is_record(record)
    named = {name: value for name, value in fields_of(record).items() if name != "head"}
    places = named.pop("places", ())
    first = f"{head.line} {head.entry.kind}" + (f" {_text(places)}" if places else "")
    when = " ".join(str(one) for one in (head.date, head.clock) if one is not None)
    text = _filled(first, **named, when=when, by=head.by, tool=head.tool)
    return text + (f" -- {head.entry.remark}" if head.entry.remark else "")


def _kit_line(one: Tool | Calibration) -> str:
    named = {name: value for name, value in fields_of(one).items() if name not in ("line", "kit", "file")}
    if isinstance(one, Tool):
        named["measures"] = [
            " ".join(
                filter(
                    None,
                    (
                        measure.kind,
                        measure.range_text,
                        f"share={measure.share}" if measure.share else "",
                        f"fixed={measure.fixed}" if measure.fixed else "",
                    ),
                )
            )
            for measure in one.measures
        ]
    return _filled(f"{one.line} {type(one).__name__.casefold()}", **named)


def _asked(asked: Iterable[Requirement]) -> Iterator[str]:
    """One line for all that differ only in their place."""

    def but_place(one: Requirement) -> Requirement:
        return one._replace(place="")

    for one, same in groupby(asked, key=but_place):
        said = ("kind", "what", "place", "file", "line", "text")
        named = {k: v for k, v in one._asdict().items() if k not in said}
        about = " ".join(filter(None, (one.what, _places([other.place for other in same]))))
        yield _filled(f"{one.line} {one.kind} {about}".rstrip(), **named)


def _filled(first: str, **named: object) -> str:
    """The fields that hold something, as `name=value`."""
    texts = ((name, _text(value)) for name, value in named.items())
    return "; ".join([first, *(f"{name}={text}" for name, text in texts if text)])


def _text(value: object) -> str:
    match value:
        case None | "" | False | ():
            return ""
        case Quantity():
            return f"{value.bound}{value.number:f} {value.unit}".rstrip()
        case Value():
            return "___" if value.blank else _text(value.quantity) if value.quantity is not None else "?"
        case Condition():
            return value.text
        case Limits():
            return _limits(value)
        case Factor():
            return ("/ " if value.divide else "* ") + (value.reference or _text(value.quantity))
        case Token():
            return value.text
        case Clock() | date():
            return str(value)
        case [Place(), *_]:
            return _places([place.name for place in value])
        case [Value(), *_]:
            return _values(value)
        case tuple() | list():
            if not any(_text(one) for one in value):
                return ""
            return ", ".join(
                _text(one)
                if not isinstance(one, tuple) or hasattr(one, "_fields")
                else "(" + _text(one) + ")"
                for one in value
            )
        case _:
            return str(value)


def _places(names: list[str]) -> str:
    return compress(names)


def _values(values: Iterable[Value]) -> str:
    """`12.1 12.0 Nm` where the unit is one and the same."""
    texts = [_text(value) for value in values]
    units = {text.rpartition(" ")[2] for text in texts if " " in text}
    if len(texts) > 1 and len(set(texts)) == 1:
        return f"{len(texts)} × {texts[0]}"
    if len(units) == 1:
        unit = units.pop()
        return " ".join(text.removesuffix(f" {unit}") for text in texts) + f" {unit}"
    return ", ".join(texts)


def _limits(limits: Limits) -> str:
    if limits.formula:
        return f"{limits.formula_side} " + " ".join(_text(factor) for factor in limits.formula)
    low, high = _text(limits.low), _text(limits.high)
    pieces = [
        f"{'>' if limits.low_open else '>='} {low}" if low else "",
        f"{'<' if limits.high_open else '<='} {high}" if high else "",
        f"target {_text(limits.target)}" if limits.target is not None and low != high else "",
        f"word {limits.word}" if limits.word else "",
    ]
    return " ".join(filter(None, pieces))
