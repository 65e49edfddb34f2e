"""The clear twilight sky by direction: its light, its colour and where both come from."""
