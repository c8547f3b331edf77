"""The kinds of messages that go out by mail."""
