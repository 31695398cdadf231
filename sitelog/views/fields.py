"""The fields that can be asked for, with what they are."""

from sitelog.asking.subjects import HISTORIES, Column, Subject
from sitelog.notation.quantities.kinds import describe_kind

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
    lines = "".join(f"{column.name:<{width}}  {column.meaning} ({_type(column)})\n" for column in columns)
    return f"{lines}\n{_sql(subject, columns)}"


def _sql(subject: Subject, columns: list[Column]) -> str:
    """How the same is called in SQL of one's own."""
    text = f"In --sql this is the table {subject.name}"
    if subject.name in HISTORIES:
        text += f", and {HISTORIES[subject.name].stored} for every time it was written"
    quantity = next((column.name for column in columns if column.type == "quantity"), "")
    if quantity:
        parts = ", ".join(f"{quantity}_{part}" for part in ("number", "unit", "bound", "kind"))
        text += f";\nthere a quantity such as {quantity} is in its base unit, with {parts} beside it"
    return f"{text}.\n"


def _type(column: Column) -> str:
    return (
        describe_kind(column.kind).removesuffix(")").replace(" (", ": ")
        if column.kind
        else _TYPES[column.type]
    )
