"""Settings that all tests share: the same examples every time, and no clock."""

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
