"""The tables of `refrigeration.load`, loaded once."""

from coldwright.contract import load_table

PEOPLE_TABLE = load_table("coldwright_refrigeration", "people_heat")
PRODUCTS_TABLE = load_table("coldwright_refrigeration", "products")
