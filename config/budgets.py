"""Every bound on what comes from outside, in one place.

Each is far above what honest use needs, and low enough that a page answers within two seconds and no process grows
beyond 300 MB: papers alone take longer, and more. Anything larger is refused with a sentence before the work is done.
"""

# --- Requests ------------------------------------------------------------------------------------------
#: Enough for a check with a few photos; gunicorn bounds the request line and the headers itself.
REQUEST_BYTES = 40_000_000
#: From somebody who isn't signed in: no form that they are shown is longer, with all that may be typed into it.
STRANGER_BYTES = 64_000
#: Everything typed into one form, without files; the longest form has about a hundred fields.
FORM_BYTES, FORM_FIELDS = 500_000, 1_000
#: A group of a walkaround check has a file field for each point; this many photos may really be sent at once.
FORM_FILES, CHECK_PHOTOS = 100, 6
#: In a field for money, miles or hours.
NUMBER_CHARACTERS = 20

# --- What is wrong with a car --------------------------------------------------------------------------
#: Open at once on one car, because every page of its keeper reads them all.
OPEN_DEFECTS = 100
#: Reasons why a car is off the road that a page or a printed sheet names; it counts any more.
REASONS_NAMED = 5

# --- Pictures ------------------------------------------------------------------------------------------
#: The largest photo that a phone's camera makes.
PICTURE_BYTES = 15_000_000
#: A JPEG is decoded at a fraction of its size, so even 50 megapixels need little memory.
JPEG_PIXELS = 60_000_000
#: These are decoded in full at four bytes a pixel; this is twice the screen of a large tablet.
OTHER_PIXELS = {"PNG": 16_000_000, "WEBP": 12_000_000}
#: Sharp enough to read a certificate, and small enough for a weak signal.
PICTURE_SIDE = 1600
#: Each picture is decoded in a process of its own, which ends if it takes more than this.
PICTURE_MEMORY, PICTURE_SECONDS = 270_000_000, 1.5
#: In each web process; a third one waits for a moment.
PICTURES_AT_ONCE = 2

#: By the clock, for all files of one post, which wait for their turn too; what takes longer is to be sent again.
FILES_SECONDS = 60

# --- Receipts ------------------------------------------------------------------------------------------
#: Chosen at once; and pages of a PDF, which a garage's longest bill with its check sheet has.
RECEIPT_FILES, PDF_PAGES = 4, 8
#: Of one entry: both sides of what a workshop hands over, and then some.
RECEIPTS_OF_ENTRY = 24
#: Wide enough to tell one receipt from another.
THUMBNAIL_SIDE = 320
#: Of one member: three pages a week for ten years are 1,600, of 0.25 MB each.
RECEIPTS_OF_MEMBER, RECEIPT_BYTES_OF_MEMBER = 2_000, 500_000_000
#: One picture as the book keeps it; noise at the largest size takes half of this.
RECEIPT_BYTES = 5_000_000

# --- Papers --------------------------------------------------------------------------------------------
#: Waiting for one member at once, and kept of one member; each is gone after so many days.
PAPERS_WAITING, PAPERS_OF_MEMBER, PAPER_DAYS = 3, 20, 14
#: Rows that a page makes into a PDF while one waits, in two to three seconds with its drawings; more go to the worker.
PAPER_ROWS_AT_ONCE = 200
#: Cars likewise on the printed list: each takes 26 ms.
CARS_AT_ONCE = 60
#: And at most: 500 take 0.4 GB while they are laid out.
CARS_OF_PAPER = 600
#: What a paper is narrowed to, in an address: a search of 120 letters takes twelve for each that is far from English.
PAPER_ASKED = 2_000
#: Rows of one paper: four a week for ten years. Each takes 0.13 MB while it is laid out, and 5 ms: the
#: worker's process that made such a one ends (CELERY_WORKER_MAX_MEMORY_PER_CHILD), the embedded server's keeps it.
PAPER_ROWS, PAPER_BYTES = 2_000, 20_000_000
#: Pictures in a member's own download that a page copies while one waits, in a second; more go to the worker. And the
#: largest: twice the receipts that a member may have.
EXPORT_BYTES_AT_ONCE, EXPORT_BYTES = 50_000_000, 1_000_000_000
#: A paper that takes longer is told as failed: the largest takes half a minute of a processor, and a store may be slow.
PAPER_SECONDS = 10 * 60
#: A paper that has ended so many processes is not tried again.
PAPER_ATTEMPTS = 3

# --- What repeats --------------------------------------------------------------------------------------
#: Running for one member; a car has ten sorts of cost that come again.
REPEATS_RUNNING = 50
#: So many years back the first day may lie, because nobody wants more entries made without having seen them.
REPEAT_YEARS_BACK = 5
#: Made in one run, because mails wait meanwhile where one process does all; the rest come the next hour.
REPEATS_MADE_AT_ONCE = 500

# --- The weekly pot ------------------------------------------------------------------------------------
#: Bills and quotes of one member that count: ten sorts for each of a few cars.
POT_BILLS = 60
#: Bills of the year that its paper may have: six that come each week, and what comes once. It takes two seconds.
POT_PAPER_BILLS = 400

# --- Offers files --------------------------------------------------------------------------------------
#: Eight offers, twenty what-ifs and sixty ranges take about 30 kB.
OFFERS_FILE_BYTES = 200_000
#: A line holds one key and its value, or a comment.
OFFERS_LINE_CHARACTERS = 2_000
#: Pasted from a quote; a long one with its small print has about 10,000.
QUOTE_CHARACTERS = 20_000
#: In one bare word. The longest key has 25 letters, and no figure of a car has this many digits.
OFFERS_WORD_CHARACTERS = 40
#: Parts of a dotted key such as [offer.running.fuel] with one more; brackets within brackets.
OFFERS_KEY_PARTS, OFFERS_DEPTH = 4, 6
#: Digits of a power of ten: 1e99 is above every bound already, and 1e99999999 would fill the memory.
OFFERS_EXPONENT_DIGITS = 2
#: Every pair of offers is compared, so a page takes this many, and a file a few more.
OFFERS_ON_A_PAGE, OFFERS_IN_A_FILE = 8, 12
#: Each what-if works every offer out again, and every range compares every pair along it, wherever it is told.
WHAT_IFS, RANGES = 20, 60
#: Pairs of months and weeks off where both are uncertain, times the offers, as each works every offer out again. One to
#: five years with up to four months off make 833 pairs, which four offers may have.
DRAWN_PAIRS = 4_000
#: Comparisons of one member, because the list of them reads every one.
COMPARISONS = 50
#: Years of premiums; the longest comparison has ten.
PREMIUMS = 10

# --- Archives ------------------------------------------------------------------------------------------
#: All files together, unpacked. 50 cars over ten years take 21 MB and 160,000 lines.
ARCHIVE_BYTES, ARCHIVE_LINES = 32_000_000, 180_000
#: The pictures of receipts with them, which are read one at a time: those of fifty members for some years.
ARCHIVE_PICTURES, ARCHIVE_PICTURES_BYTES = 20_000, 8_000_000_000
#: The list of contents of a zip, because it alone could fill the memory.
ZIP_LIST_BYTES = 16_000_000
#: Files and folders of an archive, with what operating systems add to it.
ARCHIVE_FILES = 200
#: In one row with all its lines; the longest row of a dump has about 5,000.
ARCHIVE_ROW_CHARACTERS = 60_000
ARCHIVE_COLUMNS = 100
#: In a number; nothing in the book has more than 12.
ARCHIVE_DIGITS = 40

# --- Lists of faults -----------------------------------------------------------------------------------
#: Listed for an archive and for an offers file; any more are only counted.
ARCHIVE_FAULTS, OFFERS_FAULTS = 1_000, 100

# --- What members bring --------------------------------------------------------------------------------
#: The largest file: ten years of a bank's statements in the longest of its forms.
IMPORT_BYTES = 5_000_000
#: Rows and columns of one file; a year of a busy account has about 1,000 rows.
IMPORT_ROWS, IMPORT_COLUMNS = 2_000, 60
#: Rows taken at once: nobody else can write to a book in one file until they are saved, or undone.
IMPORT_TAKEN = 500
#: In one cell; a bank's longest reference has 140.
IMPORT_CELL_CHARACTERS = 500
#: All cells together, and packed as they travel in the page, which has other fields too.
IMPORT_CHARACTERS, IMPORT_PACKED = 1_500_000, 400_000
#: Parts of a spreadsheet's ZIP; what it unpacks to is bounded by the memory of the process that reads it.
IMPORT_PARTS = 2_000
#: Each spreadsheet is read in a process of its own, which ends if it takes more than this.
IMPORT_MEMORY, IMPORT_SECONDS = 270_000_000, 3.0
#: Tags within tags of a bank's XML; the message definition has 15.
IMPORT_DEPTH = 40
#: Rows shown at a time.
IMPORT_PAGE = 50
