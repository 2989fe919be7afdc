"""What belongs in the record of an operation, and what a vet weighs before it. Pure.

A list to talk from, built from texts and common practice; the attending vet decides.
"""
