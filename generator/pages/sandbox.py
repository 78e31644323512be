"""What a template may do: show what it is given, within bounds.

A library's own templates may have come with it from somebody else. Jinja2's sandbox keeps them from the program, the
files and the network; the bounds here keep them from taking all memory and all time: so many steps and so much text to
a page, and no number or text larger than any page needs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import wraps
from typing import Any

from jinja2 import nodes
from jinja2.exceptions import SecurityError
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.visitor import NodeTransformer
from markupsafe import Markup, escape

MOST_STEPS = 1_000_000  # to a page; the demonstration's largest has about 1,000 turns of loops and calls
CALL = 10  # steps that a call counts for
MOST_TEXT = 4_000_000  # characters put out or put together to a page
MOST_ITEMS = 100_000  # in a range or a list
MOST_NUMBER = 10_000  # given to a filter or a method, such as a width
LARGEST = 10**30  # a number that is computed

# What is left out lays no text out that CSS would not, makes pages differ from build to build, or makes long text of short.
FILTERS = frozenset(
    "abs batch capitalize count d default dictsort e escape first float forceescape groupby int items join last length list "
    "lower map max min reject rejectattr replace reverse round safe select selectattr slice sort string striptags sum title "
    "tojson trim truncate unique upper urlencode wordcount".split()
)
METHODS = frozenset(
    "capitalize casefold count endswith find get index isalnum isalpha isascii isdecimal isdigit isidentifier islower "
    "isnumeric isspace istitle isupper items keys lower lstrip partition removeprefix removesuffix rfind rindex "
    "rpartition rsplit rstrip split splitlines startswith strip swapcase title upper values".split()
)
_PLAIN = (str, bytes, dict, list, tuple, set, frozenset, int, float)


class TooMuch(SecurityError):
    """A template asked for more than a page may take."""


class Sandbox(ImmutableSandboxedEnvironment):
    """Jinja2's sandbox with bounds. One page at a time: begin() before each."""

    intercepted_binops = frozenset({"+", "*", "**", "%"})

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, finalize=self._put_out, **kwargs)
        self.steps = self.text = 0
        self.globals = {"range": self.counted_range, "dict": dict, "namespace": self.globals["namespace"]}
        self.filters = {name: _bounded(made) for name, made in self.filters.items() if name in FILTERS}
        self.filters["replace"], self.filters["join"] = (
            _replace(self.filters["replace"]),
            _join(self.filters["join"]),
        )

    def begin(self) -> None:
        """A new page: count from zero."""
        self.steps = self.text = 0

    def step(self, count: int = 1) -> None:
        """Count steps. Raises TooMuch."""
        self.steps += count
        if self.steps > MOST_STEPS:
            raise TooMuch(f"takes more than {MOST_STEPS:,} steps for a page")

    def _put_out(self, value: Any) -> Any:
        if isinstance(value, str):
            self._count_text(len(value))
        return value

    def _count_text(self, length: int) -> None:
        self.text += length
        if self.text > MOST_TEXT:
            raise TooMuch(f"puts out more than {MOST_TEXT:,} characters for a page")

    # --- what templates call --------------------------------------------------------------------------------------

    def counted(self, items: Iterable[Any]) -> Iterator[Any]:
        """The items of a loop, each of which is a step."""
        for item in items:
            self.step()
            yield item

    def joined(self, *parts: Any) -> str:
        """a ~ b."""
        self._count_text(sum(len(part) if isinstance(part, str) else 20 for part in parts))
        if any(hasattr(part, "__html__") for part in parts):
            return Markup("").join(escape(part) for part in parts)
        return "".join(map(str, parts))

    def counted_range(self, *bounds: int) -> range:
        """As range()."""
        made = range(*bounds)
        if len(made) > MOST_ITEMS:
            raise TooMuch(f"has a range of {len(made):,} numbers; at most {MOST_ITEMS:,}")
        return made

    def call(self, context: Context, called: Any, *args: Any, **kwargs: Any) -> Any:
        """Call something from a template."""
        self.step(CALL)
        of = getattr(called, "__self__", None)
        if isinstance(of, _PLAIN) and getattr(called, "__name__", "") not in METHODS:
            raise SecurityError(f"{getattr(called, '__name__', 'this')}() is not allowed in a template")
        return super().call(context, called, *args, **kwargs)

    def wrap_str_format(self, value: Any) -> None:
        """Formats are left to call(), which does not allow them: "{:1000000000}" is a short text for a long one."""
        return None

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """+, *, ** and % within bounds."""
        if operator == "+" and isinstance(left, (str, list, tuple)):
            self.step((len(left) + len(right)) // 100)
            _check(len(left) + len(right), MOST_TEXT if isinstance(left, str) else MOST_ITEMS)
        elif operator == "*" and (
            isinstance(left, (str, list, tuple)) or isinstance(right, (str, list, tuple))
        ):
            length, times = (len(left), right) if not isinstance(left, (int, float)) else (len(right), left)
            _check(length * times, MOST_ITEMS)
        elif operator == "%" and isinstance(left, (str, bytes)):
            raise SecurityError("% with text is not allowed in a template")
        elif operator == "**" and (abs(right) > 100 or abs(left) > 1_000):
            raise TooMuch("computes a number that is too large")
        made = super().call_binop(context, operator, left, right)
        if isinstance(made, int) and abs(made) > LARGEST:
            raise TooMuch("computes a number that is too large")
        return made


class Counting(NodeTransformer):
    """Has loops and texts that are put together go through the sandbox's counters."""

    def visit_For(self, node: nodes.For) -> nodes.Node:  # noqa: N802 - the visitor's own name
        self.generic_visit(node)
        looped: Any = node.iter
        node.iter = _through("counted", [looped], node.lineno)
        return node

    def visit_Concat(self, node: nodes.Concat) -> nodes.Node:  # noqa: N802
        self.generic_visit(node)
        return _through("joined", node.nodes, node.lineno)


def _through(name: str, args: list[nodes.Expr], line: int) -> nodes.Call:
    return nodes.Call(nodes.EnvironmentAttribute(name, lineno=line), args, [], None, None, lineno=line)


def _check(length: float, most: int) -> None:
    if length > most:
        raise TooMuch(f"puts together something of {length:,.0f} parts; at most {most:,}")


def _bounded(made: Callable[..., Any]) -> Callable[..., Any]:
    """A filter that takes no number beyond what a page needs."""

    @wraps(made)  # keeps what Jinja2 has written on it
    def bounded(*args: Any, **kwargs: Any) -> Any:
        for given in (*args[1:], *kwargs.values()):
            if isinstance(given, (int, float)) and not abs(given) <= MOST_NUMBER:
                raise TooMuch(f"gives a filter the number {given:,}; at most {MOST_NUMBER:,}")
        return made(*args, **kwargs)

    return bounded


def _replace(made: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(made)
    def bounded(eval_ctx: Any, text: Any, old: str, new: str, count: int | None = None) -> Any:
        _check(str(text).count(str(old)) * len(str(new)), MOST_TEXT)
        return made(eval_ctx, text, old, new, count)

    return bounded


def _join(made: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(made)
    def bounded(eval_ctx: Any, value: Any, d: str = "", attribute: Any = None) -> Any:
        items = list(value)
        _check(sum(len(i) if isinstance(i, str) else 20 for i in items) + len(items) * len(d), MOST_TEXT)
        return made(eval_ctx, items, d, attribute)

    return bounded
