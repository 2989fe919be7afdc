"""The life of a rota: drafted, built, moved by hand, checked, published, withdrawn."""

from rotas.services.building import ask_build, build_draft
from rotas.services.drafts import broken_rules, draft_rota, duty_in, move_duty, rota_in
from rotas.services.publishing import publish_rota, withdraw_rota

__all__ = [
    "ask_build",
    "broken_rules",
    "build_draft",
    "draft_rota",
    "duty_in",
    "move_duty",
    "publish_rota",
    "rota_in",
    "withdraw_rota",
]
