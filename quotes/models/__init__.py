"""Models of quoting: the fleet, the rates, the quotes, the orders."""

from quotes.models.fleet import AccessoryType, Branch, HireCompany, SetType, Unit, UnitState
from quotes.models.order import (
    Acceptance,
    Booking,
    CustomerWord,
    Order,
    OrderState,
)
from quotes.models.quote import (
    BuildStep,
    PriceStep,
    Quote,
    QuoteDocument,
    QuoteLine,
    QuoteState,
    QuoteTax,
)
from quotes.models.rates import (
    CardFee,
    DeclaredEmergency,
    DeliveryVehicle,
    ExemptionCertificate,
    Rate,
    RateCard,
    TaxRule,
)

__all__ = [
    "Acceptance",
    "AccessoryType",
    "Booking",
    "Branch",
    "BuildStep",
    "CardFee",
    "CustomerWord",
    "DeclaredEmergency",
    "DeliveryVehicle",
    "ExemptionCertificate",
    "HireCompany",
    "Order",
    "OrderState",
    "PriceStep",
    "Quote",
    "QuoteDocument",
    "QuoteLine",
    "QuoteState",
    "QuoteTax",
    "Rate",
    "RateCard",
    "SetType",
    "TaxRule",
    "Unit",
    "UnitState",
]
