"""The window: draws views and emits intents."""
