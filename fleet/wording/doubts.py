"""The questions about a doubtful entry, by reason; the words of what may be meant, by "=" and its name or its field;
of the key that says that it is right, by "+" and the reason, if it says so in other words.

`config.asking.fill` puts the figures in; the pages' script has the same words in the kit.
"""

ODOMETER_DOUBTS = {
    "odometer_far": "{miles:whole} miles since {since:day}? This car runs about {usual:whole} a day.",
    "odometer_far_new": "{miles:whole} miles since {since:day}? It showed {last:whole} then.",
    "odometer_low": "On {since:date} it showed {last:whole} miles: it cannot have shown less on {day:date}.",
    "odometer_day": "It showed {last:whole} miles on {day:date} too: it cannot have shown so much less.",
    "odometer_high": "On {then:date} it showed {next:whole} miles: it cannot have shown more on {day:date}.",
    "odometer_most": "{miles:whole} miles? Hardly any tuition car ever shows so many.",
    "=odometer": "{odometer:whole}",
}
TREAD_DOUBTS = {
    "tread_impossible": "{depth:amount} mm? A new tyre has about 8.",
    "tread_deep": "{depth:amount} mm? A new tyre has about 8.",
    "tread_across": "{depth:amount} mm? The rest of this tyre has about {middle:amount}.",
    "tread_bald": "{depth:amount} mm? Then hardly any tread is left.",
    "tread_grows": "{depth:amount} mm? On {since:date} it was {last:amount}, and tread does not grow.",
    "tread_falls": "{depth:amount} mm? On {since:date} it was {last:amount}: that is fast for {miles:whole} miles.",
}
DAY_DOUBTS = {
    "day_ahead": "{day:date} has not come yet: today is {today:date}.",
    "day_first": "{day:date}? That is long ago.",
    "day_old": "{day:date}? That is more than five years ago.",
    "day_back": "{day:date}? What you logged last was of {latest:date}.",
    "=leave_out": "Leave it out",
}
