"""Looking at the middle floor's tables. Nothing is changed here: writes go through services."""

from rotas.admin import show

show("cases")
