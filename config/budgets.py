"""What anything that comes from outside may cost the book: every bound of every parser, in one place.

Each is far above what an honest use needs and low enough that a page answers within two seconds and no process
grows beyond 300 MB. Whatever lies beyond is refused with a sentence before the work is done.
"""

# --- Requests ------------------------------------------------------------------------------------------
#: A check with a few photos; gunicorn bounds the line and the headers itself.
REQUEST_BYTES = 40_000_000
#: All that is typed into one form, files left out; the longest form has some hundred fields.
FORM_BYTES, FORM_FIELDS = 500_000, 1_000
#: A walkaround check offers a photo for each point, sent or not; so many may really be sent with one.
FORM_FILES, CHECK_PHOTOS = 100, 6
#: Typed for a sum, miles or hours.
NUMBER_CHARACTERS = 20

# --- What is wrong with a car --------------------------------------------------------------------------
#: Open at once on one car; every page of its keeper's reads them all.
OPEN_DEFECTS = 100
#: Why a car is off the road, named on every page and on the printed sheet; how many more is said beside them.
REASONS_NAMED = 5

# --- Pictures ------------------------------------------------------------------------------------------
#: What a phone's camera makes at its best.
PICTURE_BYTES = 15_000_000
#: A JPEG is decoded at a part of its size, so that a photo of 50 megapixels needs little.
JPEG_PIXELS = 60_000_000
#: These are decoded whole, at four bytes a pixel; twice the screen of a large tablet.
OTHER_PIXELS = {"PNG": 16_000_000, "WEBP": 12_000_000}
#: Sharp enough to read a certificate by, small enough for a car park's signal.
PICTURE_SIDE = 1600
#: A picture is decoded in a process of its own, which ends when it takes more than this.
PICTURE_MEMORY, PICTURE_SECONDS = 270_000_000, 1.5
#: Of each web process; whoever sends a third one waits for a moment.
PICTURES_AT_ONCE = 2

# --- Offers files --------------------------------------------------------------------------------------
#: Eight offers, twenty what-ifs and sixty ranges take some 30 kB.
OFFERS_FILE_BYTES = 200_000
#: A line holds one key and its value, or a remark.
OFFERS_LINE_CHARACTERS = 2_000
#: Of one bare word: the longest key has 25 letters, and a number beyond this many digits is none of a car's.
OFFERS_WORD_CHARACTERS = 40
#: Parts of a dotted key, [offer.running.fuel] and one more; brackets within brackets, two ranges in a list.
OFFERS_KEY_PARTS, OFFERS_DEPTH = 4, 6
#: Digits of a power of ten: 1e99 is beyond every bound, 1e99999999 takes all the memory there is.
OFFERS_EXPONENT_DIGITS = 2
#: More than these nobody compares on a page; a file may hold a few more. Every pair of them is reckoned with.
OFFERS_ON_A_PAGE, OFFERS_IN_A_FILE = 8, 12
#: Each what-if is every offer worked out again; a range may be said of every input of every offer.
WHAT_IFS, RANGES = 20, 60
#: Pairs of months and weeks off that may be drawn where both are uncertain: each is every offer worked out again.
#: One to five years with up to four months off are 833.
DRAWN_PAIRS = 1_000
#: Years of premiums: the longest horizon has ten.
PREMIUMS = 10

# --- Archives ------------------------------------------------------------------------------------------
#: All files together, unpacked: 50 cars over ten years take 21 MB and 160,000 lines.
ARCHIVE_BYTES, ARCHIVE_LINES = 32_000_000, 180_000
#: As it is packed; its list of contents alone could fill the memory.
ZIP_BYTES = 16_000_000
#: Files and folders of an archive, and what systems leave beside them.
ARCHIVE_FILES = 200
#: Of one row with all its lines; the longest that a dump writes has some 5,000.
ARCHIVE_ROW_CHARACTERS = 60_000
ARCHIVE_COLUMNS = 100
#: Of a number; nothing in the book has more than 12.
ARCHIVE_DIGITS = 40

# --- What is said of faults ----------------------------------------------------------------------------
#: Of an archive and of an offers file; how many more there are is said beside them.
ARCHIVE_FAULTS, OFFERS_FAULTS = 1_000, 100
