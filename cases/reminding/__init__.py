"""When a farm is told, when it is rung, and what is no longer worth telling. Pure.

Every function takes instants and the practice's `Quiet` hours, and returns instants in UTC. The
numbers are common practice without a published source [cp] unless another source is named.
"""
