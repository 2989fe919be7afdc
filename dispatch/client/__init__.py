"""A vet's client of the API for the command line: ``python -m dispatch.client --help``.

It works without signal. Every write is first kept in a journal on this machine, with the moment
it happened and a key of its own, and sent in that order as soon as the practice can be reached;
sending one again is harmless. Until the practice has confirmed it, a call is "sending", never
"yours". It knows HTTP only: no Django, no part of the server.
"""
