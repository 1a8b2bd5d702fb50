"""The records: what was read, poured, greased and done, kept as it was entered."""

from fluidapp.store.records import Store, open_store
from fluidapp.store.saves import Entry, MeterPoint, MovementRow, NewEntry, Save, Saved, everyone_may
from fluidapp.store.subjects import Version

__all__ = ["Entry", "MeterPoint", "MovementRow", "NewEntry", "Save", "Saved", "Store", "Version", "everyone_may", "open_store"]
