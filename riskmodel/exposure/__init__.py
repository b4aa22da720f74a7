"""The insurer's year: exact loss distributions of portfolios, policy terms, shared factors and what drives them."""

from riskmodel.exposure.annual import annual_loss
from riskmodel.exposure.contributions import contributions, contributions_at_nodes
from riskmodel.exposure.distribution import LossDistribution, LossErrors
from riskmodel.exposure.factor import Factor, enough_nodes, factor, lognormal_factor
from riskmodel.exposure.largest import (
    LargestLoss,
    annual_probability,
    largest_loss,
    largest_loss_at_nodes,
    return_period,
)
from riskmodel.exposure.mixture import continuous_mixture_loss, mixture_loss, mixture_of
from riskmodel.exposure.nodes import NodeChances, node_chances, node_exponents
from riskmodel.exposure.poisson import poisson_loss
from riskmodel.exposure.risks import Risks, checked_risks
from riskmodel.exposure.shared import factor_chances, lognormal_shared_loss, shared_factor_loss

__all__ = [
    "Factor",
    "LargestLoss",
    "LossDistribution",
    "LossErrors",
    "NodeChances",
    "Risks",
    "annual_loss",
    "annual_probability",
    "checked_risks",
    "continuous_mixture_loss",
    "contributions",
    "contributions_at_nodes",
    "enough_nodes",
    "factor",
    "factor_chances",
    "largest_loss",
    "largest_loss_at_nodes",
    "lognormal_factor",
    "lognormal_shared_loss",
    "mixture_loss",
    "mixture_of",
    "node_chances",
    "node_exponents",
    "poisson_loss",
    "return_period",
    "shared_factor_loss",
]
