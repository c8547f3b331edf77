"""The pages of fitting: players, handing out, taking back."""
