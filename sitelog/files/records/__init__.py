"""Lines → records: a source read as a log, a sheet or a kit."""

from sitelog.files.records.kit import Kit, read_kit
from sitelog.files.records.log import Log, read_log
from sitelog.files.records.sheet import Sheet, assemble, read_sheet

__all__ = ["Kit", "Log", "Sheet", "assemble", "read_kit", "read_log", "read_sheet"]
