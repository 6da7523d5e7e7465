"""An evening at a bar whose truth is known: bottles and kegs as they are, and the till that tells of them with errors.

The physics here are its own: CO2 in water by Weiss 1974 (doi:10.1016/0304-4203(74)90015-2, his constants from memory),
ideal gas, and first-order exchange in closed form. What nobody knows well (foam, uptake, loss) is drawn at random from
the bands that the science states, so that an evening tests how the service keeps its books and puts bands together, and
not those rates. The drink is water with CO2, so that no solubility of a drink stands between the two.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from math import exp, log
from random import Random
from typing import Any

from service.calibration import pour_loss_of, uptake_of
from service.science.band import Band
from service.science.vessel import VesselSize, foam_loss, standing_loss_per_s

AMBIENT_BAR = 1.01325
G_PER_MOL = 44.0095
BEGINS = datetime(2026, 11, 28, 17, tzinfo=UTC)
HELD_C, LEFT_L, OPEN_S, REST_S, MOST_CHARGES, LASTS_S = 3.0, 0.02, 10.0, 1800.0, 2, 18_000.0
PURGE_BAR, PURGES, AIR_MOL_PER_L_BAR = 1.0, 3, 1.2e-3  # air in water at 3 degC: 0.79 N2 and 0.21 O2, from memory
SERVE_ML, FLOOR = 150.0, 5.2


def weiss_mol_per_l_bar(t_c: float) -> float:
    """CO2 in fresh water, Weiss 1974 eq. 12, per bar."""
    t = (t_c + 273.15) / 100.0
    return exp(-58.0931 + 90.5069 / t + 22.2940 * log(t)) / 1.01325


def vapour_bar(t_c: float) -> float:
    """Buck 1981, from memory."""
    return 0.0061121 * exp((18.678 - t_c / 234.5) * (t_c / (257.14 + t_c)))


RT = 0.0831446 * (HELD_C + 273.15)


def drawn(band: Band, random: Random) -> float:
    """A value of which nine in ten lie within the band."""
    z = random.gauss(0.0, 1.0) / 1.645
    return max(
        0.0, band.typical + z * ((band.high if z > 0.0 else band.low) - band.typical) * (1.0 if z > 0.0 else -1.0)
    )


@dataclass(frozen=True)
class Nature:
    """Rates as they are this evening."""

    henry: float
    foam: float
    pour_loss: float
    standing_per_s: float
    still_per_s: dict[str, float]
    shaken_per_s: dict[str, float]

    @classmethod
    def of(cls, value: Callable[[Band], float]) -> "Nature":
        sizes: tuple[VesselSize, ...] = ("bottle", "keg")
        return cls(
            henry=weiss_mol_per_l_bar(HELD_C) * value(Band(0.98, 1.0, 1.02)),
            foam=value(foam_loss()),
            pour_loss=value(pour_loss_of(None, "gentle", HELD_C)),
            standing_per_s=value(standing_loss_per_s()),
            still_per_s={size: value(uptake_of(None, "still", size)) for size in sizes},
            shaken_per_s={size: value(uptake_of(None, "shaken", size)) for size in sizes},
        )


@dataclass
class Vessel:
    """The contents of a bottle or a keg: drink [l], CO2 dissolved [mol/l], CO2 and air above it [mol]."""

    id: str
    drink: str
    size: VesselSize
    room_l: float
    start_g_per_l: float
    fill: float
    nature: Nature
    unsaid_g_per_l: float = 0.0
    liquid_l: float = 0.0
    level: float = 0.0
    co2_mol: float = 0.0
    air_mol: float = 0.0
    hold_bar: float = 0.0
    clock_s: float = 0.0
    opened: bool = False
    done: bool = False
    charges: int = 0
    rests_until_s: float = 0.0
    uncapped_until_s: float = 0.0

    def __post_init__(self) -> None:
        self.liquid_l, self.level = self.fill * self.room_l, self.start_g_per_l / G_PER_MOL
        self.level += self.unsaid_g_per_l / G_PER_MOL
        pressure = self.level / self.nature.henry
        self.co2_mol = pressure * self.above_l / RT
        left_l = LEFT_L if self.size == "bottle" else self.above_l * (AMBIENT_BAR / (AMBIENT_BAR + PURGE_BAR)) ** PURGES
        self.air_mol = (AMBIENT_BAR - vapour_bar(HELD_C)) * (left_l / RT + AIR_MOL_PER_L_BAR * self.liquid_l)
        self.hold_bar = pressure + vapour_bar(HELD_C)  # the air goes with the first glasses

    @property
    def above_l(self) -> float:
        return self.room_l - self.liquid_l

    @property
    def air_bar(self) -> float:
        """Air over the drink; it is at rest with the air in the drink."""
        return self.air_mol / (self.above_l / RT + AIR_MOL_PER_L_BAR * self.liquid_l)

    @property
    def gas_bar(self) -> float:
        """All the pressure over the drink."""
        return self.co2_mol * RT / self.above_l + self.air_bar + vapour_bar(HELD_C)

    @property
    def g_per_l(self) -> float:
        return self.level * G_PER_MOL

    @property
    def still(self) -> float:
        """The level below which no bubble forms."""
        return self.nature.henry * (AMBIENT_BAR - vapour_bar(HELD_C))

    def wait(self, now_s: float, per_s: float | None = None, hold_bar: float | None = None) -> None:
        """Rest closed, or on gas where it is a keg."""
        if self.uncapped_until_s > self.clock_s:
            open_s = min(now_s, self.uncapped_until_s) - self.clock_s
            self.level *= exp(-self.nature.standing_per_s * max(0.0, open_s))
            self.clock_s = max(self.clock_s, min(now_s, self.uncapped_until_s))
        seconds, self.clock_s = max(0.0, now_s - self.clock_s), max(now_s, self.clock_s)
        rate, henry = per_s or self.nature.still_per_s[self.size], self.nature.henry
        fed = self.size == "keg" and self.gas_bar <= self.hold_bar  # a regulator lets nothing out
        if fed or hold_bar is not None:
            co2_bar = max(0.0, (hold_bar or self.hold_bar) - vapour_bar(HELD_C) - self.air_bar)
            self.level += (henry * co2_bar - self.level) * (1.0 - exp(-rate * seconds))
            self.co2_mol = co2_bar * self.above_l / RT
            return
        ratio = henry * RT * self.liquid_l / self.above_l
        total = self.level * self.liquid_l + self.co2_mol
        end = total / (self.liquid_l + self.above_l / (henry * RT)) if total else 0.0
        self.level = end + (self.level - end) * exp(-rate * (1.0 + ratio) * seconds)
        self.co2_mol = total - self.level * self.liquid_l

    @property
    def uncapped(self) -> bool:
        return self.uncapped_until_s > self.clock_s

    def vent(self) -> None:
        if self.uncapped:
            return
        dry_bar, room_bar = self.co2_mol * RT / self.above_l + self.air_bar, AMBIENT_BAR - vapour_bar(HELD_C)
        if dry_bar > room_bar:
            share = room_bar / dry_bar
            self.co2_mol, self.air_mol = share * self.co2_mol, share * self.air_mol
        else:
            self.air_mol += (room_bar - dry_bar) * (self.above_l / RT + AIR_MOL_PER_L_BAR * self.liquid_l)
        self.level -= self.nature.foam * max(0.0, self.level - self.still)

    def glass(self) -> float:
        """CO2 in a glass poured now [g/l]; nothing happens to it."""
        level = self.level
        if self.size == "bottle" and not self.uncapped:
            level -= self.nature.foam * max(0.0, level - self.still)
        return G_PER_MOL * (level - self.nature.pour_loss * max(0.0, level - self.still))

    def pour(self, volume_l: float) -> None:
        volume_l = min(volume_l, self.liquid_l)
        if self.size == "keg":
            self.air_mol -= volume_l * AIR_MOL_PER_L_BAR * self.air_bar
            self.liquid_l -= volume_l
            self.wait(self.clock_s)
            return
        self.vent()
        self.air_mol += volume_l * (AMBIENT_BAR / RT - AIR_MOL_PER_L_BAR * self.air_bar)
        self.liquid_l -= volume_l
        if not self.uncapped:
            self.level *= exp(-self.nature.standing_per_s * OPEN_S)
            self.clock_s += OPEN_S
        self.opened = True

    def regas(self, dial_bar: float, seconds: float) -> None:
        """Squeeze the air out, shake it on the regulator."""
        self.vent()
        self.uncapped_until_s = 0.0
        share = min(1.0, LEFT_L / self.above_l)
        in_drink = AIR_MOL_PER_L_BAR * self.air_bar * self.liquid_l
        self.co2_mol, self.air_mol = share * self.co2_mol, in_drink + share * (self.air_mol - in_drink)
        self.wait(self.clock_s + seconds, self.nature.shaken_per_s[self.size], dial_bar + AMBIENT_BAR)
        self.charges, self.opened = self.charges + 1, False
        self.rests_until_s = self.clock_s + REST_S

    def copy(self) -> "Vessel":
        fields = {name: getattr(self, name) for name in self.__dataclass_fields__}
        made = Vessel(**fields)
        for name, value in fields.items():
            setattr(made, name, value)
        return made


PURGED = {"method": "purged", "times": PURGES, "pressure": {"value": PURGE_BAR, "unit": "bar"}}


@dataclass
class Bar:
    """The bar this evening: its vessels, and what its till has told so far.

    poured: what one pour really is [l]; off_s: by how much the till's clock is fast
    """

    random: Random
    vessels: list[Vessel]
    drift: float = 0.0
    off_s: float = 0.0
    sales: list[dict[str, Any]] = field(default_factory=list)
    events: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    served: dict[str, int] = field(default_factory=dict)
    later: list[tuple[float, str, str]] = field(default_factory=list)
    poured_l: float = 0.0

    @classmethod
    def of(cls, seed: int, *, bottles: int, kegs: int, rates_drawn: bool) -> "Bar":
        """An evening; pours and clock are off at random, and where it is said so the rates too."""
        random = Random(seed)  # noqa: S311 - the same every time
        nature = Nature.of(lambda band: drawn(band, random) if rates_drawn else band.typical)
        vessels = []

        def off() -> float:
            """A level is stated to a tenth."""
            return random.uniform(-0.05, 0.05)

        for drink, level in (("highball", 6.2), ("spritz", 6.1)):
            room_l = 2.0 if drink == "highball" else 1.5
            for i in range(bottles):
                fill = round(random.uniform(0.78, 0.85), 4)
                vessels.append(
                    Vessel(
                        f"{drink}-{i}", drink, "bottle", room_l, level + 0.1 * random.randint(0, 3), fill, nature, off()
                    )
                )
        vessels += [Vessel(f"keg-{i}", "soda", "keg", 19.0, 5.2, 0.9, nature, off()) for i in range(kegs)]
        drift, off_s = random.gauss(0.0, 0.03 / 1.645), random.gauss(0.0, 60.0)
        return cls(random, vessels, drift, off_s, events={one.id: [] for one in vessels})

    def stamp(self, now_s: float) -> str:
        """The moment as the till has it."""
        return (BEGINS + timedelta(seconds=round(now_s + self.off_s + self.random.uniform(-20.0, 20.0)))).isoformat()

    def sell(self, drink: str, serves: int, now_s: float) -> None:
        """Pour glasses one after the other, and tell the till of them together."""
        sold = 0
        for _ in range(serves):
            one = self.pour_from(drink, now_s)
            if one is None:
                break
            one.wait(now_s)
            volume_l = SERVE_ML / 1000.0 * (1.0 + self.drift) * (1.0 + self.random.gauss(0.0, 0.08 / 1.645))
            self.poured_l += min(volume_l, one.liquid_l)
            one.pour(volume_l)
            sold += 1
        if sold:
            self.served[drink] = self.served.get(drink, 0) + sold
            sale = {"id": f"s{len(self.sales)}", "at": self.stamp(now_s), "drink_key": drink, "serves": sold}
            self.sales.append(sale if sold > 1 else {k: v for k, v in sale.items() if k != "serves"})

    def pour_from(self, drink: str, now_s: float) -> Vessel | None:
        """The open one first; one that does not fill a glass is put aside, of which the till hears now and then."""
        own = [one for one in self.vessels if one.drink == drink and not one.done]
        for one in sorted(own, key=lambda v: (not v.opened, now_s < v.rests_until_s)):
            if one.liquid_l >= 0.93 * SERVE_ML / 1000.0:
                one.opened = True
                return one
            one.done = True
            if self.random.random() < 0.7:
                event = {"id": f"e{one.id}", "at": self.stamp(now_s + 60.0), "kind": "emptied"}
                self.events[one.id].append(event)
        return None

    def forget(self, drink: str, now_s: float) -> None:
        """Leave the bottle that is in use without its cap for a while, and tell of it."""
        for one in self.vessels:
            if one.drink == drink and one.size == "bottle" and one.opened and not one.done and not one.uncapped:
                one.wait(now_s)
                one.vent()
                one.uncapped_until_s = now_s + self.random.uniform(900.0, 3000.0)
                for kind, at_s in (("opened", now_s), ("closed", one.uncapped_until_s)):
                    self.later.append((at_s, one.id, kind))
                return

    def told(self, now_s: float) -> None:
        """Tell the till what was to be told by now."""
        for at_s, name, kind in [each for each in self.later if each[0] <= now_s]:
            self.events[name].append({"id": f"{kind}{name}{at_s:.0f}", "at": self.stamp(at_s), "kind": kind})
        self.later = [each for each in self.later if each[0] > now_s]

    def regas(self, one: Vessel, recharge: dict[str, Any], now_s: float) -> None:
        dial_bar, seconds = recharge["gauge_pressure"]["value"], 60.0 * recharge["shake"]["value"]
        one.wait(now_s)
        one.regas(dial_bar, seconds)
        self.later = [each for each in self.later if each[1] != one.id]
        self.events[one.id].append({
            "id": f"g{one.id}{one.charges}", "at": self.stamp(now_s), "kind": "charged",
            "gauge_pressure": recharge["gauge_pressure"], "shake": recharge["shake"],
        })  # fmt: skip

    def best(self, now_s: float) -> str | None:
        """The bottle to gas first, by who knows all: the flattest under the floor that a re-gas brings back over it."""
        found = []
        for one in self.vessels:
            one.wait(now_s)
            if one.done or one.size == "keg" or one.charges >= MOST_CHARGES or one.liquid_l < one.room_l / 3.0:
                continue
            if one.glass() < FLOOR and self._helped(one) >= FLOOR:
                found.append((one.glass(), one.id))
        return min(found)[1] if found else None

    def _helped(self, one: Vessel) -> float:
        """The glass after it is brought back to the level that it started from, and its rest."""
        tried = one.copy()
        dial = one.start_g_per_l / G_PER_MOL / one.nature.henry + vapour_bar(HELD_C) - AMBIENT_BAR
        tried.regas(dial + AMBIENT_BAR * LEFT_L / tried.above_l, log(20.0) / one.nature.shaken_per_s["bottle"])
        tried.wait(tried.clock_s + REST_S)
        return tried.glass()

    def evening(self, post: Callable[[dict[str, Any]], dict[str, Any]]) -> Iterator[tuple[float, dict[str, Any]]]:
        """Five hours of sales, and every ten minutes what the service answers; the bar does what `next` says."""
        now_s, poll_s = 0.0, 900.0
        while now_s < LASTS_S:
            until_s = now_s + self.random.expovariate(1.0 / 240.0)
            while poll_s <= min(until_s, LASTS_S - 1.0):
                self.told(poll_s)
                answer = post(self.request(poll_s))
                yield poll_s, answer
                for one, state in zip(self.vessels, answer["vessels"], strict=True):
                    if answer.get("next") == one.id and "recharge" in state and not one.done:
                        self.regas(one, state["recharge"], poll_s)
                poll_s += 600.0
            now_s = until_s
            self.told(now_s)
            if self.random.random() < 0.15:
                self.forget(self.random.choice(["highball", "spritz"]), now_s)
            drink = self.random.choice(["highball", "spritz", "soda", "soda"])
            self.sell(drink, self.random.choice([1, 1, 2, 3]), now_s)

    def serves_left(self, drink: str) -> int:
        """Whole glasses that this hand will still pour."""
        serve_l = SERVE_ML / 1000.0 * (1.0 + self.drift)
        return sum(int(one.liquid_l / serve_l) for one in self.vessels if one.drink == drink and not one.done)

    def request(self, now_s: float) -> dict[str, Any]:
        """Return the request of the till for the whole evening."""
        soda = {"composition": {"abv": 0, "sugar": {"value": 0, "unit": "g/l"}, "clarity": "clear"}}
        kinds = {
            "bottle-1.5": {"preset": "pet-1500-ml", "condition": "sound", "cycles": 2},
            "bottle-2": {"preset": "pet-2-l", "condition": "sound", "cycles": 2},
            "keg-19": {"preset": "keg-19-l"},
        }
        return {
            "now": (BEGINS + timedelta(seconds=round(now_s))).isoformat(),
            "drinks": dict.fromkeys(dict.fromkeys(one.drink for one in self.vessels), soda),
            "vessel_kinds": kinds,
            "temperature": {"value": HELD_C, "unit": "c"},
            "pour": {"volume": {"value": SERVE_ML, "unit": "ml"}, "manner": "gentle"},
            "air": {"method": "squeezed", "remaining": {"value": 1000.0 * LEFT_L, "unit": "ml"}},
            "floor": {"value": FLOOR, "unit": "g/l"},
            "open_for": {"value": OPEN_S, "unit": "s"},
            "site": {"barometer": {"value": AMBIENT_BAR, "unit": "bar"}},
            "vessels": [
                {"id": one.id, "drink_key": one.drink, "vessel_kind": f"{one.size}-{one.room_l:g}",
                 "start": {"fill": one.fill, "co2": {"value": round(one.start_g_per_l, 1), "unit": "g/l"}},
                 **({"air": PURGED} if one.size == "keg" else {}),
                 **({"events": self.events[one.id]} if self.events[one.id] else {})}
                for one in self.vessels
            ],
            "sales": self.sales,
        }  # fmt: skip
