"""Room: folds the body inside the vehicle."""

from panelbeater.fold.again import settle_fold
from panelbeater.fold.energy import FoldOptions
from panelbeater.fold.hiding import body_leak
from panelbeater.fold.search import PATIENCE, find_folds

__all__ = ["PATIENCE", "FoldOptions", "body_leak", "find_folds", "settle_fold"]
