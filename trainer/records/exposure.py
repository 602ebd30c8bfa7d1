"""How often each item of a bank was answered, counted from the answers that are kept.

Who calls: `trainer.ui`.
"""

from __future__ import annotations

from collections import Counter

from trainer.records.store import Store

_COUNT = """
SELECT item_id, count(*) FROM attempt
WHERE item_id <> '' AND installation_id = :installation GROUP BY item_id
"""


def item_exposure(store: Store, installation: str) -> Counter[str]:
    """Return how often each item was answered, in due practice and checks, by all members.

    Args:
        store: The open file of attempts.
        installation: Id of the installation: items of two may have the same id.

    Raises:
        RecordsError: The file can't be read.
    """
    rows = store.database.read(_COUNT, {"installation": installation})
    return Counter({str(name): int(count) for name, count in rows})
