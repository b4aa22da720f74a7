"""The knowledge base with its prices in the fleet's own currency."""

from __future__ import annotations

from riskmodel.fleet import Settings
from riskmodel.trade import Trade, in_currency, load_trade


def priced_trade(settings: Settings) -> Trade:
    """The trade's tables with the organisation's own rows laid over them, in the fleet's currency.

    Raises TableError with every broken rule of the organisation's tables.
    """
    trade = load_trade(settings.trade_folder)
    if settings.price_scale is None:
        return trade
    return in_currency(trade, settings.currency, settings.price_scale)


def price_notes(settings: Settings) -> tuple[str, ...]:
    """A note where prices were turned into the fleet's currency."""
    if settings.price_scale is None:
        return ()
    trade = load_trade(settings.trade_folder)
    tasks = [trade.haul_out, *(task for each in trade.classes.values() for task in each.tasks)]
    years = [row.price_year for row in tasks if row.currency != settings.currency]
    named = {task.currency for task in tasks} | {state.currency for state in trade.end_states.values()}
    others = sorted(named - {settings.currency})
    if not others:
        return ()
    dated = f" of {max(years)}" if years else ""
    return (
        f"Prices of work, lifts, salvage and repair by length are figures in {others[0]}{dated}, times "
        f"{settings.price_scale:g} for {settings.currency} (price_scale in settings.toml)",
    )
