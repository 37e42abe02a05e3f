"""`fitback forget CUSTOMER`: erases a person from an output folder; the figures of the doors stay."""

from pipeline.forget.forget import forget_customer

__all__ = ["forget_customer"]
