"""Printer profiles: what one printer accepts, read strictly from TOML or JSON."""

from __future__ import annotations

from worker.profiles.describe import describe
from worker.profiles.loader import (
    builtin_profiles,
    line_of_key,
    load_profile,
    parse_profile_json,
    parse_profile_toml,
    profile_toml,
)
from worker.profiles.models import Profile
from worker.profiles.problems import Problem, ProfileError, UnknownProfile
from worker.profiles.written import written_toml

__all__ = [
    "Problem",
    "Profile",
    "ProfileError",
    "UnknownProfile",
    "builtin_profiles",
    "describe",
    "line_of_key",
    "load_profile",
    "parse_profile_json",
    "parse_profile_toml",
    "profile_toml",
    "written_toml",
]
