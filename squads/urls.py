from shared.access import guarded

urlpatterns = guarded([])
