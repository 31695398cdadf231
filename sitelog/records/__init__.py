"""Lines → records: a source read as a log, a sheet or a kit."""

from sitelog.records.kit import Kit, read_kit
from sitelog.records.log import Log, read_log
from sitelog.records.sheet import Sheet, assemble, read_sheet

__all__ = ["Kit", "Log", "Sheet", "assemble", "read_kit", "read_log", "read_sheet"]
