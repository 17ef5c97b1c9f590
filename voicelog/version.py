"""The version, where every room may ask for it."""

VERSION = "0.1.0"
