"""The settings' pages."""
