"""Calendars: the plan out as iCalendar (RFC 5545), and busy time in as dark ranges."""
