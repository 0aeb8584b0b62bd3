"""Asking the index of words: one function for both databases, with the same answers."""

from collections.abc import Iterable, Iterator, Sequence

from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader

from garage.finding.kept import KeepFindable
from garage.finding.layout import ROOMS, TABLE
from garage.finding.words import Asked, Phrases, fold, one_letter_off, spelled_otherwise

Hit = tuple[str, str]  # what a row is, and its key
Query = tuple[str, list[str]]  # with its values
MOST_SPELLINGS = 3
MOST_LOOKED_AT = 60
MANY_PARTS = 4  # of FTS5's index of a room, before it is put together
PAGES_AT_ONCE = 64
# Rows that PostgreSQL looks at before it asks its index: a few, and more where those held some.
NEWEST, FURTHEST = 400, 6000
MANY_WAYS = 12  # a long word with a letter wrong: few rows have any, and each row would be looked at in every way


def matching(room: str, ways: Sequence[Phrases], *, most: int) -> list[tuple[Hit, str]]:
    """The newest rows of `room` that hold all phrases of one of `ways`, at most `most`: each with its words.

    A phrase is folded (`garage.finding.words.fold`) and at least three letters long, spaces counted.
    """
    if not ways:
        return []
    if connection.vendor == "sqlite":
        return _answer(_sqlite(room, ways), most)
    if len(ways) > MANY_WAYS:
        return _answer(_indexed(room, ways), most)
    found = _answer(_newest(room, ways, NEWEST), most)
    reach = 2 * NEWEST * most // len(found) if found else 0
    if len(found) < most and reach and reach <= FURTHEST:
        found = _answer(_newest(room, ways, reach), most)
    return found if len(found) == most else _answer(_indexed(room, ways), most)


def _answer(query: Query, most: int) -> list[tuple[Hit, str]]:
    asked, values = query
    with connection.cursor() as cursor:
        cursor.execute(asked, [*values, most])
        return [((kind, thing), words) for kind, thing, words in cursor.fetchall()]


def _sqlite(room: str, ways: Sequence[Phrases]) -> Query:
    index = f"{TABLE}_{room}"
    asked = " OR ".join("(" + " AND ".join(f'"{phrase}"' for phrase in way) + ")" for way in ways)
    query = (
        f"SELECT f.kind, f.thing, f.words FROM {index} AS x JOIN {TABLE} AS f ON f.id = x.rowid "
        f"WHERE {index} MATCH %s ORDER BY x.rowid DESC LIMIT %s"
    )
    return query, [asked]


def _newest(room: str, ways: Sequence[Phrases], reach: int) -> Query:
    """On PostgreSQL, of the newest rows: its index gives every row of a common word before one may be left out."""
    return _held(ways, f"SELECT * FROM {TABLE} WHERE room = '{room}' ORDER BY id DESC LIMIT {reach}", [])


def _indexed(room: str, ways: Sequence[Phrases]) -> Query:
    """On PostgreSQL, by the index of runs of three letters; that they follow one another is looked at afterwards."""
    asked = [" & ".join(f"'{run}'" for phrase in way for run in _runs(phrase)) for way in ways]
    # Each way by itself, so that the index begins with the rarest run of each; in one it would walk through them all.
    any_way = " OR ".join([f"{TABLE}_runs(folded) @@ %s::tsquery"] * len(ways))
    return _held(ways, f"SELECT * FROM {TABLE} WHERE room = '{room}' AND ({any_way})", asked)


def _held(ways: Sequence[Phrases], looked_at: str, values: list[str]) -> Query:
    each = " OR ".join("(" + " AND ".join(["strpos(folded, %s) > 0"] * len(way)) + ")" for way in ways)
    hits = f"SELECT kind, thing, words FROM looked_at WHERE {each} ORDER BY id DESC LIMIT %s"
    return f"WITH looked_at AS ({looked_at}) {hits}", [*values, *(phrase for way in ways for phrase in way)]


def _runs(phrase: str) -> Iterator[str]:
    return (phrase[place : place + 3] for place in range(len(phrase) - 2))


def best_first(room: str, asked: Asked, *, most: int) -> list[Hit]:
    """What holds all words of `asked`: those that hold them whole, then at the beginning of words, then anywhere.

    Whatever holds them whole holds them anywhere: where few do, they are all at hand, and are put in order here.
    """
    if not asked.words:
        return []
    *better, anywhere = asked.tiers()
    everything = matching(room, anywhere, most=most)
    if len(everything) < most:
        return [hit for hit, _ in sorted(everything, key=lambda found: _tier(fold(found[1]), better))]
    found: dict[Hit, None] = {}
    for ways in better:
        found |= dict.fromkeys(hit for hit, _ in matching(room, ways, most=most))
        if len(found) >= most:
            break
    return list(found | dict.fromkeys(hit for hit, _ in everything))[:most]


def _tier(folded: str, better: Sequence[Sequence[Phrases]]) -> int:
    """The first of the `better` ways that a text is held in; their number where in none."""
    for place, ways in enumerate(better):
        if any(all(phrase in folded for phrase in way) for way in ways):
            return place
    return len(better)


def spellings(rooms: Iterable[str], word: str) -> list[str]:
    """Words that stand in the book and are `word` with one letter off, the commonest of the newest first."""
    counted: dict[str, int] = {}
    for room in rooms:
        for _, words in matching(room, one_letter_off(word), most=MOST_LOOKED_AT):
            for spelled in set(spelled_otherwise(word, fold(words))):
                counted[spelled] = counted.get(spelled, 0) + 1
    return sorted(counted, key=lambda spelled: -counted[spelled])[:MOST_SPELLINGS]


def kept_tables() -> list[KeepFindable]:
    """What the migrations keep in the index, by the last word on each table."""
    loader = MigrationLoader(None)
    plan = [node for leaf in loader.graph.leaf_nodes() for node in loader.graph.forwards_plan(leaf)]
    laid = [operation for node in dict.fromkeys(plan) for operation in loader.disk_migrations[node].operations]
    return list({one.table: one for one in laid if isinstance(one, KeepFindable)}.values())


@transaction.atomic
def rebuild() -> None:
    """Make the index afresh from what the book says."""
    with connection.cursor() as cursor:
        for kept in kept_tables():
            for statement in kept.refill():
                cursor.execute(statement, None)


def differing() -> dict[str, int]:
    """The tables whose rows are not in the index as they are, with how many."""
    with connection.cursor() as cursor:
        found = {}
        for kept in kept_tables():
            cursor.execute(kept.differing(), None)
            found[kept.table] = int(cursor.fetchone()[0])
    return {table: many for table, many in found.items() if many}


def tidy() -> None:
    """Take out of FTS5's own pages what was taken out of the index: until then it only notes that it is gone."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for room in ROOMS:
                cursor.execute(f"INSERT INTO {TABLE}_{room} ({TABLE}_{room}) VALUES ('optimize')")


def rooms_in_many_parts() -> list[str]:
    """The rooms whose FTS5 index has come to lie in many parts: each run of letters is looked up in every one."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        found = []
        for room in ROOMS:
            cursor.execute(f"SELECT count(DISTINCT segid) FROM {TABLE}_{room}_idx")
            if cursor.fetchone()[0] > MANY_PARTS:
                found.append(room)
    return found


def put_together() -> None:
    """Make one part of many, a few pages at a time, so that nobody who writes waits for long."""
    for room in rooms_in_many_parts():
        pages = -PAGES_AT_ONCE  # below nought: begin with all parts that there are (SQLite's FTS5, 'merge')
        while _merge(room, pages):
            pages = PAGES_AT_ONCE


def _merge(room: str, pages: int) -> bool:
    """One step of putting together; whether anything was left to do."""
    index = f"{TABLE}_{room}"
    with transaction.atomic(), connection.cursor() as cursor:  # takes its turn, as whoever writes does
        cursor.execute("SELECT total_changes()")
        before = cursor.fetchone()[0]
        cursor.execute(f"INSERT INTO {index} ({index}, rank) VALUES ('merge', %s)", [pages])
        cursor.execute("SELECT total_changes()")
        return bool(cursor.fetchone()[0] - before >= 2)
