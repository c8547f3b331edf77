"""Addresses of the settings' pages."""

from django.urls import path

from gearlife.web.settings import account_acts, clubs, devices, models, new_model, people, rules, seasons
from gearlife.web.settings.overview import Settings

urlpatterns = [
    path("settings/", Settings.as_view(), name="settings"),
    path("settings/rules/", rules.Rules.as_view(), name="rules"),
    path("settings/rules/add/", rules.AddRule.as_view(), name="rule-add"),
    path("settings/rules/<uuid:id>/", rules.OneRule.as_view(), name="rule"),
    path("settings/rules/<uuid:id>/change/", rules.OverrideRule.as_view(), name="rule-change"),
    path("settings/rules/<uuid:id>/end/", rules.EndRule.as_view(), name="rule-end"),
    path("settings/models/", models.Models.as_view(), name="models"),
    path("settings/models/new/", new_model.AddModel.as_view(), name="model-add"),
    path("settings/models/<uuid:id>/", models.ChangeModel.as_view(), name="model"),
    path("settings/seasons/", seasons.Seasons.as_view(), name="seasons"),
    path("settings/seasons/add/<uuid:club>/", seasons.AddSeason.as_view(), name="season-add"),
    path("settings/seasons/<uuid:id>/", seasons.ChangeSeason.as_view(), name="season"),
    path("settings/seasons/<uuid:id>/remove/", seasons.RemoveSeason.as_view(), name="season-remove"),
    path("settings/organisation/", clubs.ChangeOrganisation.as_view(), name="organisation"),
    path("settings/clubs/", clubs.Clubs.as_view(), name="clubs"),
    path("settings/clubs/add/", clubs.AddClub.as_view(), name="club-add"),
    path("settings/clubs/<uuid:id>/", clubs.OneClub.as_view(), name="club"),
    path("settings/clubs/<uuid:club>/add-team/", clubs.AddTeam.as_view(), name="team-add"),
    path("settings/teams/<uuid:id>/", clubs.ChangeTeam.as_view(), name="team"),
    path("settings/people/", people.People.as_view(), name="people"),
    path("settings/people/add/", people.AddPerson.as_view(), name="person-add"),
    path("settings/people/<uuid:user>/", people.Person.as_view(), name="person"),
    path("settings/people/<uuid:user>/role/", people.GiveRole.as_view(), name="role-give"),
    path("settings/people/<uuid:user>/address/", people.ChangeAddress.as_view(), name="person-address"),
    path("settings/people/<uuid:user>/password/", account_acts.NewPassword.as_view(), name="person-password"),
    path("settings/people/<uuid:user>/lock/", account_acts.EndLock.as_view(), name="person-lock"),
    path("settings/people/<uuid:user>/token/", devices.AddToken.as_view(), name="person-token"),
    path("settings/people/<uuid:user>/disable/", account_acts.Disable.as_view(), name="person-disable"),
    path("settings/people/<uuid:user>/enable/", account_acts.Enable.as_view(), name="person-enable"),
    path("settings/roles/<uuid:membership>/take/", people.TakeRole.as_view(), name="role-take"),
    path("settings/devices/", devices.Devices.as_view(), name="devices"),
    path("settings/devices/add/", devices.AddDevice.as_view(), name="device-add"),
    path("settings/devices/<uuid:token>/revoke/", devices.RevokeToken.as_view(), name="token-revoke"),
]
