"""The key that types an order at the bench: a piece, then its views in turn, or the path of a CSV file."""

from __future__ import annotations

import shlex
from pathlib import Path

from session.order.client_order import Order
from session.order.order_table import MOST_BYTES, OrderFileError, order_csv, read_order, require_table
from session.shoot.acts import GoTo
from session.units.names import name_key
from session.units.refusals import UnreadableTextError
from tui.bench.mode import BenchPort
from tui.words.keys import Where, hint
from tui.words.order_words import count_words, order_counts


class OrderKeys:
    """Asks for the lines, and hands each change to the log at once."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench

    def act_order(self, key: str) -> None:
        place = self._bench.model.place
        if place is not None:
            self._bench.ask("order: a piece, or a CSV file to read", self._take_piece)

    def _take_piece(self, text: str) -> None:
        place = self._bench.model.place
        assert place is not None
        if text.casefold().endswith(".csv"):
            self._read(Path(text).expanduser(), place.job)
        elif not text:
            raise UnreadableTextError(f"a piece needs a name, not {text!r}")
        else:
            self._ask_view(place.job, text, ())

    def _ask_view(self, job: str, piece: str, typed: tuple[str, ...]) -> None:
        def take(view: str) -> None:
            if not view:
                if typed:
                    self._bench.say(f"Wanted of {piece}: {', '.join(typed)}.")
                return
            require_table(Order(job).with_views(piece, (view,)))
            self._bench.app.add_views(job, piece, (view,))
            self._ask_view(job, piece, (*typed, view))

        self._bench.ask(f"{piece}: a view wanted of it, or enter", take)

    def _read(self, path: Path, job: str) -> None:
        try:
            with path.open("rb") as opened:
                order = read_order(opened.read(MOST_BYTES + 1), job, or_other=True)
        except OSError as error:
            raise UnreadableTextError(f"{path} can't be read: {error.strerror}") from None
        except OrderFileError as error:
            more = len(error.faults) - 1
            rest = f" And {count_words(more, 'more fault')}: `stillset job read` lists them." if more else ""
            raise UnreadableTextError(f"Nothing was read. {error.faults[0]}{rest}") from None
        begun = ""
        if name_key(order.job) != name_key(job):
            if self._bench.model.frames:
                how = (
                    f"{hint(Where.BENCH, 'leave')}, `stillset shoot --job {shlex.quote(order.job)}`, and read it there"
                )
                raise UnreadableTextError(f"{job} has frames, and this is the order of {order.job}: {how}")
            piece, view = next(order.views())
            self._bench.post(GoTo(piece.name, view, job=order.job))
            begun = f" The job is {order.job} from now on."
        self._bench.app.keep_order(order_csv(order), path.name)
        self._bench.say(f"Read {path.name}: {order_counts(order)}.{begun}")
