"""What is to be priced: the sets, the accessories, the days, the distance and the choices made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum


class Refuelling(StrEnum):
    CUSTOMER = "customer"
    OWNER = "owner"


class Cover(StrEnum):
    WAIVER = "waiver"
    CERTIFICATE = "certificate"


class Delivery(StrEnum):
    OWNER = "owner"
    CUSTOMER = "customer"  # the customer tows it from the yard and back


class Connection(StrEnum):
    CUSTOMER = "customer"
    OWNER = "owner"


@dataclass(frozen=True, slots=True)
class HiredSet:
    """Equal sets on hire; ``priced_as`` names the smaller set asked for where its price holds."""

    code: str
    name: str
    quantity: int
    mass_kg: Decimal  # one set with a full tank
    tank_l: Decimal
    priced_as: str = ""

    @property
    def rate_code(self) -> str:
        return self.priced_as or self.code


@dataclass(frozen=True, slots=True)
class HiredAccessory:
    code: str
    name: str
    quantity: int
    length_m: Decimal | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """A rep's change of the price, with the reason the customer reads."""

    amount: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What the customer may choose on the quote; the price follows."""

    refuelling: Refuelling = Refuelling.CUSTOMER
    cover: Cover = Cover.WAIVER
    connection: Connection = Connection.CUSTOMER
    delivery: Delivery = Delivery.OWNER


@dataclass(frozen=True, slots=True)
class Job:
    """One job. Engine hours are planned hours a day of one set; distance is one way, straight."""

    start: date
    end: date
    sets: tuple[HiredSet, ...]
    accessories: tuple[HiredAccessory, ...] = ()
    engine_hours_per_day: Decimal = Decimal(8)
    fuel_l_per_day: Decimal = Decimal(0)
    refuel_visits: int = 0
    distance_km: Decimal = Decimal(0)
    emergency: bool = False
    choices: Choices = Choices()
    adjustment: Adjustment | None = None
