"""The fields that can be asked for, with what they are."""

from sitelog.quantities.kinds import describe_kind
from sitelog.subjects import Column, Subject

_TYPES = {
    "text": "text",
    "number": "a number",
    "quantity": "a quantity with its unit",
    "ratio": "a share; in per cent in tables, a fraction in json (10 % is 0.1)",
    "day": "a day, such as 2026-03-02",
    "time": "a time of day, such as 08:05",
    "flag": "yes or no; true or false in json",
}


def fields_text(subject: Subject) -> str:
    """One line for each field: its name, what it is, what it means."""
    columns = [column for column in subject.all_columns if not column.hidden]
    width = max(len(column.name) for column in columns)
    return "".join(f"{column.name:<{width}}  {column.meaning} ({_type(column)})\n" for column in columns)


def _type(column: Column) -> str:
    return (
        describe_kind(column.kind).removesuffix(")").replace(" (", ": ")
        if column.kind
        else _TYPES[column.type]
    )
