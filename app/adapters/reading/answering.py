"""What the child does with a file: the reader that its media type names, and the answer in bytes."""

from collections.abc import Callable

import msgspec

from app.adapters.reading.talk import PDF, PICTURES, WEB_PAGES, Action, Answer, Asked, Refusal
from app.services.ports import Looked, ReadText

Reader = Callable[[bytes], Looked | ReadText | bytes]


def prepared(asked: str) -> Callable[[bytes], bytes]:
    """Everything imported that answering takes: from a file's bytes to an answer's."""
    reader = _reader(msgspec.json.decode(asked, type=Asked))

    def answer(content: bytes) -> bytes:
        return msgspec.msgpack.encode(_answer(reader, content))

    return answer


def _answer(reader: Reader, content: bytes) -> Answer:
    try:
        return Answer(result=msgspec.msgpack.encode(reader(content)))
    except Refusal as refusal:
        return Answer(refusal.code)
    except MemoryError:
        return Answer("file_bomb")
    except Exception:  # noqa: BLE001, a stranger's file may break a library in any way
        return Answer("file_unreadable")


def _reader(asked: Asked) -> Reader:
    """The reader for what is asked. Only what it needs is imported: that is most of the time that a look takes."""
    media_type, page, longest, width = asked.media_type, asked.page, asked.longest, asked.width
    if media_type == PDF:
        from app.adapters.reading import pdf

        match asked.action:
            case Action.LOOK:
                return pdf.look
            case Action.READ:
                return pdf.read
            case Action.PICTURE:
                return lambda content: pdf.picture(content, page, longest, width)
    if media_type in PICTURES:
        from app.adapters.reading import pictures

        match asked.action:
            case Action.LOOK:
                return lambda content: pictures.look(content, media_type)
            case Action.READ:
                return lambda content: pictures.read(content, media_type)
            case Action.PICTURE:
                return lambda content: pictures.picture(content, media_type, page, longest, width)
    if media_type in WEB_PAGES:
        from app.adapters.reading import web_pages

        return lambda content: (web_pages.look if asked.action is Action.LOOK else web_pages.read)(content, media_type)
    raise ValueError(media_type)
