"""What files name must be there: keys that stand twice, products and compartments that nobody entered, folders that are not read."""

from collections.abc import Collection, Iterator, Sequence
from difflib import get_close_matches
from pathlib import Path

from fluidapp.errors import FileProblem
from fluidapp.model import Gun, Machine, Truck
from fluidapp.store.subjects import SubjectDoc, kind_of

MACHINES = ("excavator", "wheel loader", "crawler loader", "crawler dozer", "grader", "dump truck", "drill", "roller", "crusher")
ALIKE = 0.85  # from here on a kind of machine is taken for a slip in one that is known
TABLES = (".toml", ".csv", ".tsv", ".xlsx", ".xls", ".ods", ".json")  # endings of files that somebody may mean as records
Placed = tuple[str, SubjectDoc]  # the file, and what stands in it


def left_out(folder: Path, read: Collection[str]) -> list[FileProblem]:
    """Tables below ``folder`` that are not among the files ``read``: in a misspelt folder, or with an ending that is not read."""
    found = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if path.suffix.lower() not in TABLES or name.as_posix() in read or not path.is_file() or name.parts[0].startswith("."):
            continue
        if len(name.parts) > 1 and name.parts[0] != "machines":
            why, fix = (
                f"the folder “{name.parts[0]}” is not read",
                "Machines belong into “machines”, the rest beside it.",
            )
        elif len(name.parts) > 1:
            why, fix = "it is not read there", "The folder “machines” holds one .toml file for each machine."
        else:
            why, fix = f"files that end in {path.suffix} are not read", "Save it as .toml or .csv, in small letters."
        found.append(FileProblem(name.as_posix(), "", why, fix))
    return found


def problems(placed: Sequence[Placed], products: Collection[str], kinds: Collection[str]) -> list[FileProblem]:
    """Every key that stands twice, and every name that leads nowhere. products, kinds : known to the records already."""
    return [*_twice(placed), *_nowhere(placed, products), *_misspelt(placed, kinds)]


def _twice(placed: Sequence[Placed]) -> Iterator[FileProblem]:
    seen: dict[str, Placed] = {}
    for file, doc in placed:
        if doc.key in seen:
            other, first = seen[doc.key]
            why = f"this key is that of the {kind_of(first)} “{getattr(first, 'label', '')}” in {other} already"
            yield FileProblem(file, f"“{doc.key}”, key", why, f"Give the {kind_of(doc)} another key, or leave one of the two out.")
        seen.setdefault(doc.key, (file, doc))


def _nowhere(placed: Sequence[Placed], products: Collection[str]) -> Iterator[FileProblem]:
    known = sorted({*products, *(doc.key for _, doc in placed if kind_of(doc) == "product")})
    for file, doc in placed:
        for where, product in _products(doc):
            if product not in known:
                yield _unknown(file, f"“{doc.key}”, {where}product", product, known)
        for bath in doc.baths if isinstance(doc, Machine) else ():
            parts = [part.key for part in doc.compartments] if isinstance(doc, Machine) else []
            for key in bath.linked:
                if key not in parts:
                    yield _unknown(file, f"“{doc.key}”, baths › “{bath.key}” › linked", key, parts)


def _products(doc: SubjectDoc) -> Iterator[tuple[str, str]]:
    """Where a subject names a product, and which."""
    if isinstance(doc, Gun) and doc.product:
        yield "", doc.product
    if isinstance(doc, Truck):
        yield from ((f"compartments › “{c.key}” › ", c.product) for c in doc.compartments)
    if isinstance(doc, Machine):
        for name, group in (("compartments", doc.compartments), ("baths", doc.baths), ("grease_points", doc.grease_points)):
            yield from ((f"{name} › “{one.key}” › ", one.product) for one in group if one.product)


def _misspelt(placed: Sequence[Placed], kinds: Collection[str]) -> Iterator[FileProblem]:
    known = {*MACHINES, *kinds}
    for file, doc in placed:
        if isinstance(doc, Machine) and doc.kind not in known:
            for near in get_close_matches(doc.kind, known, 1, ALIKE):
                fix = f"Write “{near}” like the other machines, or a word that is not so near."
                yield FileProblem(file, f"“{doc.key}”, kind", f"“{doc.kind}” is not known", fix)


def _unknown(file: str, where: str, name: str, known: Sequence[str]) -> FileProblem:
    return FileProblem(file, where, f"“{name}” is not known", f"Known: {', '.join(known) if known else 'none yet'}.")
