"""Step 2: how far each device's clock is behind the shop's, estimated at sync."""

from __future__ import annotations

from sqlalchemy import Connection

_SQL = """
CREATE TABLE offsets (
    shop TEXT NOT NULL,
    device TEXT NOT NULL,
    sequence BIGINT NOT NULL,
    seconds FLOAT NOT NULL,
    PRIMARY KEY (shop, device),
    FOREIGN KEY (shop) REFERENCES shops (id)
)
"""


def apply(connection: Connection) -> None:
    """Add the table of offsets."""
    connection.exec_driver_sql(_SQL)
