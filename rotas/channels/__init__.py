"""How messages reach people: which way, with what pauses, signed how. Pure: no database, no clock.

`choice` picks a way, `back_off` the pause after a failed try, `signing` proves who sent a webhook,
`outcome` is what every line answers, `json_gateway`, `services` and `console` are lines to services.
"""
