"""The server is killed in the middle of a group's run: what it acknowledged is there, and who is in.

``DAYBUOY_KILLS=50 pytest --log-cli-level=INFO tests/cli/test_kill_at_the_water.py`` kills it fifty times.
"""

import http.client
import logging
import os
import random
import shutil
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from app.records.store.check import check_folder
from app.settings.config import Settings
from tests.server_world import Visitor, form_in, serving, typed
from tests.web_ready import GUIDE, ready_group
from tests.web_world import make_world

KILLS = int(os.environ.get("DAYBUOY_KILLS", "3"))
SEED = 20261126
Pairs = list[tuple[str, str]]


@dataclass
class Run:
    """A phone that marks people back and in again, as fast as it can, until the server is gone.

    told: each acknowledged form, and where its answer led. open: the form whose answer never came.
    """

    phone: Visitor
    group: int
    members: dict[str, int]
    told: list[tuple[str, Pairs, str]] = field(default_factory=list)
    state: dict[int, str] = field(default_factory=dict)
    open: int = 0

    def __call__(self) -> None:
        draw = random.Random(SEED + len(self.told))
        try:
            while True:
                member = draw.choice(sorted(self.members.values()))
                _, page, _ = self.phone.get(f"/water/{self.group}/back")
                came = f"/water/{self.group}/back/{member}"
                stays = f"/water/{self.group}/still-in/{member}"
                back = f'action="{came}"' in page
                to, pairs = form_in(page, "mark_back" if back else "still_in", came if back else stays)
                pairs = pairs if back else typed(pairs, why="mixed up")
                self.open = member
                status, _, headers = self.phone.post(to, pairs)
                assert status == 303, status
                self.told.append((to, pairs, headers["location"]))
                self.state[member], self.open = "back" if back else "in", 0
        except (OSError, http.client.HTTPException):
            return


def test_nothing_acknowledged_is_lost_by_a_kill_at_any_moment(tmp_path: Path) -> None:
    ready = ready_group(make_world(tmp_path / "kept"))
    ready.go_in()
    group, members = ready.group_id, dict(ready.members)
    ready.world.house.close()
    moments, acknowledged, slowest = random.Random(SEED), 0, 0.0
    for number in range(KILLS):
        folder = tmp_path / f"shop-{number}"
        shutil.copytree(tmp_path / "kept" / "data", folder)
        with serving(folder) as served:
            run = Run(served.visitor().sign_in(GUIDE), group, members)
            thread = threading.Thread(target=run)
            thread.start()
            time.sleep(moments.uniform(0.05, 1.5))
            served.kill()
            thread.join(60)
        with serving(folder) as again:
            slowest = max(slowest, again.ready_after)
            phone = again.visitor()
            phone.cookies = run.phone.cookies
            status, page, _ = phone.get(f"/water/{group}/back")
            assert status == 200, "the first page after a restart"
            for member, said in run.state.items():
                if member != run.open:
                    assert f'data-person="{member}" data-state="{said}"' in page, (number, member, said)
            for member in set(members.values()) - set(run.state) - {run.open}:
                assert f'data-person="{member}" data-state="in"' in page, (number, member)
            for to, pairs, location in run.told:
                answer, _, headers = phone.post(to, pairs)
                assert (answer, headers["location"]) == (303, location), "sent again, acknowledged once"
            assert phone.get(f"/water/{group}/back")[1].count('data-state="in"') == page.count(
                'data-state="in"'
            )
        assert check_folder(Settings(data=folder))[0] is None, "the trail is whole"
        acknowledged += len(run.told)
    assert acknowledged, "something was sent before each kill"
    logging.getLogger(__name__).info(
        "%s kills, %s acknowledged, slowest restart %.1f s", KILLS, acknowledged, slowest
    )
