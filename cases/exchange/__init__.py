"""Treatments in the field names of the ICAR Animal Data Exchange standard (ADE). Pure.

The names of resources and fields, and the words of its lists, are the standard's; what this
project adds is only the choice of a scheme for its own keys. An end of a withdrawal is never
given earlier than the produce may be sold, and one that is unknown is said in words.
"""
