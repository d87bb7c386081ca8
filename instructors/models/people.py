"""The people of the co-op, their invitations, and the co-op's settings."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone

from config.quantities import Number

#: A median of fewer than five could give away one member's cost; the co-op may only ask for more.
CONTRIBUTORS = Number(least=5, most=1_000)
#: What group figures may be rounded to, in pence of a lesson hour; a mile has a tenth of it.
ROUNDINGS = (10, 20, 50)
ROUNDING_CHOICES = [(pence, f"{pence}p a lesson hour, {pence // 10}p a mile") for pence in ROUNDINGS]
#: By the first of these days the last fills and lessons can be in; after the last one the figures are old news.
CLOSING_DAY = Number(least=8, most=20)
#: Nothing runs between midnight and four, when a clock change would run it twice or late.
REMINDER_HOUR = Number(least=4, most=23)


class Role(models.TextChoices):
    MEMBER = "member", "Member"
    COORDINATOR = "coordinator", "Coordinator"


class Grade(models.TextChoices):
    ADI = "ADI", "ADI, approved driving instructor"
    PDI = "PDI", "PDI, trainee with a licence"


class MemberManager(BaseUserManager["Member"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Member":
        """Create a member, who signs in with e-mailed codes unless a password is given."""
        member = self.model(email=self.normalize_email(email).lower(), **fields)
        if password is None:
            member.set_unusable_password()
        else:
            member.set_password(password)
        member.save(using=self._db)
        return member

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "Member":
        """Create the first coordinator of a new book, who joins today."""
        start = {"role": Role.COORDINATOR, "joined_on": timezone.localdate()}
        return self.create_user(email, password, **start | fields)

    def get_by_natural_key(self, username: str | None) -> "Member":
        return self.get(email__iexact=username)


class Member(AbstractBaseUser):
    """An instructor in the co-op; a coordinator also looks after the group's cars."""

    email = models.EmailField("e-mail address", unique=True)
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=12, choices=Role, default=Role.MEMBER)
    grade = models.CharField(max_length=3, choices=Grade, default=Grade.ADI)
    joined_on = models.DateField("joined on", null=True, blank=True)
    left_on = models.DateField("left on", null=True, blank=True)
    reminder_hour = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(REMINDER_HOUR.least), MaxValueValidator(REMINDER_HOUR.most)],
    )  # null: the co-op's hour
    wants_due_mail = models.BooleanField(default=True)  # reminders of what the law asks for are mailed in any case
    wants_log_mail = models.BooleanField(default=True)  # a word after a week without an entry
    #: Nothing but when they were a member is left of one who was erased; the row stays for what refers to it.
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    #: True for one request of a coordinator without the second factor that the co-op asks for; never stored. Until
    #: they have one they count as an ordinary member (``SecondFactorMiddleware``).
    lacks_factor = False

    objects = MemberManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name", "email"]
        constraints = [
            models.UniqueConstraint(Lower("email"), name="member_email_once_whatever_its_case"),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="member_role_known"),
            models.CheckConstraint(condition=models.Q(grade__in=Grade.values), name="member_grade_known"),
            models.CheckConstraint(
                condition=models.Q(left_on__isnull=True)
                | models.Q(joined_on__isnull=True)
                | models.Q(left_on__gte=models.F("joined_on")),
                name="member_leaves_after_joining",
            ),
            models.CheckConstraint(
                condition=models.Q(reminder_hour__isnull=True)
                | models.Q(reminder_hour__gte=REMINDER_HOUR.least, reminder_hour__lte=REMINDER_HOUR.most),
                name="member_reminder_hour_in_the_day",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def belongs_on(self, day: date) -> bool:
        """Whether the member has not left before ``day``."""
        return self.left_on is None or self.left_on >= day

    @property
    def is_active(self) -> bool:  # type: ignore[override]
        """Whether the member may sign in today."""
        return self.belongs_on(timezone.localdate())

    @property
    def is_coordinator(self) -> bool:
        return self.role == Role.COORDINATOR and not self.lacks_factor


class Nation(models.TextChoices):
    GB = "GB", "Great Britain"
    NI = "NI", "Northern Ireland"


class Cooperative(models.Model):
    """The co-op's settings: one row, or none as long as the defaults will do."""

    ONLY_ID = 1

    id = models.PositiveSmallIntegerField(primary_key=True, default=ONLY_ID, editable=False)
    name = models.CharField(max_length=150, default="Our co-operative")
    nation = models.CharField(max_length=2, choices=Nation, default=Nation.GB)
    minimum_contributors = models.PositiveSmallIntegerField(
        default=CONTRIBUTORS.least,
        validators=[MinValueValidator(CONTRIBUTORS.least)],
        help_text="Group figures are shown only when at least this many members contribute; five at the least.",
    )
    closing_day = models.PositiveSmallIntegerField(
        default=10,
        validators=[MinValueValidator(CLOSING_DAY.least), MaxValueValidator(CLOSING_DAY.most)],
        help_text="Day of the next month on which a month's group figures are worked out and kept.",
    )
    #: The closing day of months before ``closing_day_from``, which is the first day of a month.
    closing_day_before = models.PositiveSmallIntegerField(default=10, editable=False)
    closing_day_from = models.DateField(null=True, editable=False)
    rounding = models.PositiveSmallIntegerField(
        default=20,
        choices=ROUNDING_CHOICES,
        help_text="How finely the group's figures are told, from the next closing on.",
    )
    depreciation_rate = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.15"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal("0.9999"))],
        help_text="Share of its value that a car loses in a year after its last valuation: 0.15 is 15 %.",
    )
    reminder_hour = models.PositiveSmallIntegerField(
        default=7,
        validators=[MinValueValidator(REMINDER_HOUR.least), MaxValueValidator(REMINDER_HOUR.most)],
        help_text="Hour of the day, UK time, from 4 to 23, at which reminders go out.",
    )
    tyre_life_miles = models.PositiveIntegerField(
        default=25_000,
        validators=[MinValueValidator(1)],
        help_text="Miles that a set of tyres is taken to last when a cost is logged; members may change it there.",
    )
    coordinators_need_second_factor = models.BooleanField(default=False)
    rent_or_own_is_open = models.BooleanField(
        default=True,
        help_text="Whether anybody may ask the public page whether renting or a car of their own is cheaper.",
    )

    class Meta:
        verbose_name = "co-op settings"
        verbose_name_plural = "co-op settings"
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="cooperative_is_one_row"),
            models.CheckConstraint(condition=models.Q(nation__in=Nation.values), name="cooperative_nation_known"),
            models.CheckConstraint(
                condition=models.Q(minimum_contributors__gte=CONTRIBUTORS.least),
                name="cooperative_minimum_is_five_or_more",
            ),
            models.CheckConstraint(
                condition=models.Q(closing_day__gte=CLOSING_DAY.least, closing_day__lte=CLOSING_DAY.most),
                name="cooperative_closing_day_in_its_span",
            ),
            models.CheckConstraint(condition=models.Q(rounding__in=ROUNDINGS), name="cooperative_rounding_known"),
            models.CheckConstraint(
                condition=models.Q(depreciation_rate__gte=0, depreciation_rate__lt=1),
                name="cooperative_depreciation_is_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(reminder_hour__gte=REMINDER_HOUR.least, reminder_hour__lte=REMINDER_HOUR.most),
                name="cooperative_reminder_hour_in_the_day",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def closing_day_of(self, month: date) -> int:
        """The day of the next month on which the month that begins on ``month`` is closed."""
        is_before = self.closing_day_from is not None and month < self.closing_day_from
        return self.closing_day_before if is_before else self.closing_day

    def set_closing_day(self, closing_day: int, today: date) -> None:
        """Change the closing day, from the month after ``today``'s on."""
        if closing_day == self.closing_day:
            return
        this_month = today.replace(day=1)
        self.closing_day_before = self.closing_day_of(this_month)
        self.closing_day_from = (this_month + timedelta(days=32)).replace(day=1)
        self.closing_day = closing_day


class Invitation(models.Model):
    """An invitation to join, by a coordinator or by whoever runs the server. Of its link, only a digest is kept."""

    email = models.EmailField("e-mail address")
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=12, choices=Role, default=Role.MEMBER)
    grade = models.CharField(max_length=3, choices=Grade, default=Grade.ADI)
    invited_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="invitations_sent"
    )  # null: invited by a command on the server
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                condition=models.Q(accepted_at__isnull=True, withdrawn_at__isnull=True),
                name="invitation_open_once_per_email",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} <{self.email}>"

    @property
    def inviter(self) -> str:
        """Who invites, as a sentence begins with it."""
        return self.invited_by.name if self.invited_by else "Whoever runs the book"
