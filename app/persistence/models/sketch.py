"""Sketches: a few numbers for each document's words. Documents that share many are worth comparing word by word."""

from sqlalchemy import BigInteger
from sqlmodel import Field

from app.persistence.base import WORDS, Row


class Sketch(Row, table=True):
    """One number of one document's sketch."""

    document: str = Field(sa_type=WORDS, primary_key=True, foreign_key="document.id")
    number: int = Field(sa_type=BigInteger, primary_key=True, index=True, sa_column_kwargs={"autoincrement": False})
