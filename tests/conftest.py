"""What holds for every test: how fast an example is depends on who else uses the cores."""

from hypothesis import settings

settings.register_profile("shared-cores", deadline=None)
settings.load_profile("shared-cores")
