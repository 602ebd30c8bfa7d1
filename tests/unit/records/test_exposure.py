"""How often an item was answered, from the kept answers alone."""

from pathlib import Path
from typing import Any

from trainer.records.exposure import item_exposure
from trainer.records.store import Store


def test_answers_of_all_members_count_in_checks_too(store_path: Path, make_attempt: Any) -> None:
    with Store.open(store_path) as store:
        assert item_exposure(store, "sister_one") == {}
        store.add(make_attempt(1, member="Ash", item_id="level/wait"))
        store.add(make_attempt(2, member="Bo", item_id="level/wait", check_id="one"))
        store.add(make_attempt(3, member="Bo", item_id="level/approach", check_id="one"))
        store.add(make_attempt(4, member="Bo"))  # of a lesson: it has no item
        store.add(make_attempt(5, installation_id="sister_two", item_id="level/wait"))
    with Store.open(store_path) as store:
        assert item_exposure(store, "sister_one") == {"level/wait": 2, "level/approach": 1}
