"""BLAKE2 as hashlib has it, without hashlib, which loads OpenSSL first: 3 ms of a start."""

try:
    from _blake2 import blake2b
except ImportError:
    from hashlib import blake2b

__all__ = ["blake2b"]
