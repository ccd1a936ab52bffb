"""Structured logs: one line a request, never a body, a key or what an order holds."""

import contextlib
import io
import logging
import sys
from typing import TextIO, cast

import structlog


class _StandardError(io.TextIOBase):
    """Standard error as it is now. A full disk under the log, or a reader that went away, must not cost an answer."""

    def write(self, text: str) -> int:
        """Write, or let it be."""
        with contextlib.suppress(OSError, ValueError):
            return sys.stderr.write(text)
        return 0

    def flush(self) -> None:
        """Flush, or let it be."""
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.flush()


def _worth_saying(record: logging.LogRecord) -> bool:
    """Not that a client offered an upgrade: it is answered as if it had not, and most of Java's do it every time."""
    text = record.getMessage()
    return not text.startswith(("Unsupported upgrade request", "No supported WebSocket library"))


def plugin_said(plugin: str, text: str) -> None:
    """What a plugin printed, as a line of the log that says whose it is."""
    structlog.get_logger().info("plugin_output", plugin=plugin, text=text)


def configure(log_format: str, level: str) -> None:
    """Set up structlog and the standard library's loggers alike; lines go to standard error."""
    shared: list[structlog.types.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
    ]
    renderer: structlog.types.Processor = (
        structlog.dev.ConsoleRenderer(colors=False) if log_format == "text" else structlog.processors.JSONRenderer()
    )
    number = logging.getLevelNamesMapping().get(level.upper(), logging.INFO)
    structlog.configure(
        processors=[*shared, renderer],
        wrapper_class=structlog.make_filtering_bound_logger(number),
        logger_factory=structlog.WriteLoggerFactory(file=cast(TextIO, _StandardError())),
        cache_logger_on_first_use=False,
    )
    handler = logging.StreamHandler(_StandardError())
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared, processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, renderer]
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(max(number, logging.WARNING))
    logging.getLogger("uvicorn.error").addFilter(_worth_saying)
    for name in ("uvicorn.access", "httpx"):
        logging.getLogger(name).disabled = True
