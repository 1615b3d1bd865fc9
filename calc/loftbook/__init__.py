"""Loftbook: recovery of amateur rockets, computed once for page, terminal and test."""

VERSION = "0.1.0"
