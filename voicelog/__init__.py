"""voicelog: an offline, voice-driven, hands-free job logger for paintless dent repair.

The names below are the public face; each is imported from its room when it is first used, so
that `import voicelog` costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from voicelog.version import VERSION

if TYPE_CHECKING:
    from voicelog.estimate.card import load_card
    from voicelog.estimate.pricing.price import price_job
    from voicelog.grammar import load_grammar
    from voicelog.jobs.logbook import Logbook
    from voicelog.meaning.understand import understand
    from voicelog.papers.write import write_papers
    from voicelog.recognition.open import open_engine
    from voicelog.session.dialogue import Dialogue

__version__ = VERSION

__all__ = [
    "Dialogue",
    "Logbook",
    "__version__",
    "load_card",
    "load_grammar",
    "open_engine",
    "price_job",
    "understand",
    "write_papers",
]

_HOMES = {
    "Dialogue": "session.dialogue",
    "Logbook": "jobs.logbook",
    "load_card": "estimate.card",
    "load_grammar": "grammar",
    "open_engine": "recognition.open",
    "price_job": "estimate.pricing.price",
    "understand": "meaning.understand",
    "write_papers": "papers.write",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
