"""Pages of html as tests read them, and a made-up flight as a file to make them from."""

from html.parser import HTMLParser

from synthetic_flight import synthetic_flight

from simengine.results.netcdf import write_netcdf

# Elements that HTML leaves without an end (WHATWG HTML, void elements).
VOID = {"meta", "br", "link", "img", "input", "hr"}


class Reader(HTMLParser):
    """Elements of a page with their attributes, its visible text, and whether every element is closed."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.elements, self.words, self.open, self.errors = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.errors.append(f"</{tag}> where another element was open")

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]


def flight_file(folder, name="flight.nc", **attributes):
    """A made-up flight as a file, some of its attributes replaced."""
    dataset = synthetic_flight().dataset().assign_attrs(attributes)
    return write_netcdf(dataset, folder / name)
