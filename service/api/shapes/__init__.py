"""The envelope of answers."""

from service.api.shapes.envelope import Envelope, SentenceParameterSchema, TitratableAcidityAnswerSchema

__all__ = ["Envelope", "SentenceParameterSchema", "TitratableAcidityAnswerSchema"]
