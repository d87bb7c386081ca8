"""Addresses of the cars, of what falls due on them, and of a member's own page."""

from django.urls import path

from fleet.views import additions, cars, due_items, odometer, profile, reminders

app_name = "fleet"

urlpatterns = [
    path("cars/", cars.car_list, name="car-list"),
    path("cars/<str:mark>/", cars.car, name="car"),
    path("cars/<str:mark>/due/new/", additions.due_item_add, name="due-item-add"),
    path("cars/<str:mark>/odometer/", odometer.odometer_add, name="odometer-add"),
    path("due/<int:pk>/", due_items.due_item_correct, name="due-item-correct"),
    path("due/<int:pk>/done/", due_items.due_item_complete, name="due-item-complete"),
    path("due/<int:pk>/book/", due_items.due_item_book, name="due-item-book"),
    # A member's own page shows credentials, which are due items: fleet may know members, not they it.
    path("me/", profile.profile, name="profile"),
    path("me/due/new/", additions.credential_add, name="credential-add"),
    path("reminders/", reminders.reminder_log, name="reminder-log"),
]
