"""The fictional shop that the demo runs, and the generator of scenarios of every size."""

from demo_fleet.generator import generate
from demo_fleet.orders import OrderInfo, orders_info
from demo_fleet.shop import demo_shop
from demo_fleet.sizes import SIZES

__all__ = ["SIZES", "OrderInfo", "demo_shop", "generate", "orders_info"]
