"""The fault drill: reminders by the thousand, while what carries them is killed and taken away.

The site's own programs run on servers of their own, as in the demo. A mail sink takes what they
send. At moments laid down before, counted in messages and not in seconds, workers are killed,
broker and database are restarted, and the sink refuses. At the end every message is counted.
"""
