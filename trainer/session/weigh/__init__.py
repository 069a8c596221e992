"""Bounces put on the beam: chosen, brought into step, heard blind, judged."""
