"""The rules of due dates and roadworthiness: plain records and days in, states and dates out."""
