"""How large a workbook is made: the rows of each of its tables."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Sizes:
    """Rows of the tables; what a batch brings of its own is counted by the batch."""

    batches: int = 40
    waters: int = 6
    acids: int = 8

    @property
    def grist(self) -> int:
        """Rows of the grists, all batches together: six malts to a batch."""
        return 6 * self.batches

    @property
    def log(self) -> int:
        """Rows of the log: a batch may be dosed twice."""
        return self.batches + self.batches // 2
