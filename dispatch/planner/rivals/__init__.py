"""Other ways to plan the same night, to measure the planner against, and to do what it cannot."""
