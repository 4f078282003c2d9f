"""Short guides, each run as it is printed by the tests: `offcut guide NAME` shows one."""

from __future__ import annotations

from importlib import resources

# In the order in which they are needed. Those after the first go on with its books.
NAMES = (
    *("first-month", "fair", "manufacturer-order", "count", "tax-quarter", "year-end"),
    *("own-layout", "own-plugin"),
)


def guide_text(name: str) -> str:
    """Return a guide, as Markdown.

    Args:
      name: One of `NAMES`.
    """
    return resources.files(__name__).joinpath(f"{name}.md").read_text("utf-8")


def guide_title(name: str) -> str:
    """Return what a guide is about: its first heading.

    Args:
      name: One of `NAMES`.
    """
    return guide_text(name).partition("\n")[0].lstrip("# ")
