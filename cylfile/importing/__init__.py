"""Exports of fill stations and spreadsheets, made into fills and cards."""
