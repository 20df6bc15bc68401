"""Layer: will the change read, and what to do next?"""
