"""Certificates as paper: a one-page PDF written here, line by line, so that the same lines give the same bytes."""

from collections.abc import Sequence


def pdf(lines: Sequence[str]) -> bytes:
    """Return a PDF 1.4 page with these lines (Latin-1), one below the other."""
    shown = " ".join(f"({_escaped(line)}) Tj T*" for line in lines)
    content = f"BT /F1 11 Tf 15 TL 60 780 Td {shown} ET".encode("latin-1")
    objects = (
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
    )
    file, places = b"%PDF-1.4\n", []
    for number, each in enumerate(objects, start=1):
        places.append(len(file))
        file += b"%d 0 obj\n%s\nendobj\n" % (number, each)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    tail = b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, len(file))
    return file + head + table + tail


def _escaped(line: str) -> str:
    return line.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
