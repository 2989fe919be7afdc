"""The rest of the evening, played against a running site by people who only know its API."""
