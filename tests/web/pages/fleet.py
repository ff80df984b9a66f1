"""A maker with one vehicle after another, in a town whose people have tabs."""

from app.services import accounts, sessions
from tests.web.pages.tabs import Square, Tab
from tests.web.people import People
from tests.web.story import Story


class Fleet(Story):
    """A maker of vehicles, and people at tabs."""

    def __init__(self, town: Square, people: People) -> None:
        super().__init__(town.client, people)
        self.town = town
        self.maker = self.publisher("Orrin", "vehicle_maker")
        self._vehicles = 0

    def tab_of(self, name: str) -> Tab:
        """A tab of somebody who has a token and no password."""
        with self.town.registry.database.write() as session:
            account = accounts.named(session, name)
            opened = sessions.open_session(session, account, second_factor=True, now=self.town.clock.now())
        return Tab(self.client, opened.secret)

    def vehicle(self) -> str:
        """A vehicle of which nothing is known yet."""
        self._vehicles += 1
        known = [f"orrin-tarn-{number}-2019" for number in range(1, self._vehicles)]
        model = f"Tarn {self._vehicles}"
        return self.add("vehicles", maker=self.maker, model=model, years={"from": 2019}, distinct_from=known[-50:])
