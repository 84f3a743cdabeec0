"""The book of a build: everything recorded about it, nothing ever overwritten. SQLite, or PostgreSQL for a shop."""

from loopwright.book.archive import export_archive, import_archive
from loopwright.book.differing import difference
from loopwright.book.entering import Draft, Written
from loopwright.book.faults import BookBusy, BookError, NewerBook, NoBook
from loopwright.book.keeping import backup
from loopwright.book.ledger import Book, Info
from loopwright.book.opening import create, open_book
from loopwright.book.verifying import Verified, verify

__all__ = [
    "Book",
    "BookBusy",
    "BookError",
    "Draft",
    "Info",
    "NewerBook",
    "NoBook",
    "Verified",
    "Written",
    "backup",
    "create",
    "difference",
    "export_archive",
    "import_archive",
    "open_book",
    "verify",
]
