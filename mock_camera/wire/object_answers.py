"""Answers to the operations on stores and objects: listing, transfer, deletion."""

from mock_camera.body.memory_card import StoredObject
from mock_camera.ptp.codes import ALL_STORES, ROOT_HANDLE, STORAGE_ID, DataType, ObjectFormat, Response
from mock_camera.ptp.datasets import pack_array, pack_object_info, pack_storage_info
from mock_camera.wire.host import Host, Parameters, Reply


def get_storage_ids(host: Host, _: Parameters, __: bytes) -> Reply:
    stores = [] if host.body.faults.take("no_card") else host.body.card.stores()
    return Reply(data=pack_array(DataType.UINT32, stores))


def get_storage_info(host: Host, parameters: Parameters, _: bytes) -> Reply:
    card = host.body.card
    if parameters[0] not in card.stores():
        return Reply(Response.InvalidStorageID)
    return Reply(data=pack_storage_info(card.capacity_bytes, card.free_bytes(), host.capture.room_frames(), "card"))


def handles_listed(host: Host, parameters: Parameters) -> list[int] | Response:
    """Handles asked for by (store, format, parent) as GetNumObjects and GetObjectHandles take them."""
    store, object_format, parent = parameters[:3]
    if store not in (*host.body.card.stores(), ALL_STORES):
        return Response.InvalidStorageID
    wanted = 0 if parent == ROOT_HANDLE else parent
    return [
        item.handle
        for item in host.body.card
        if store in (ALL_STORES, item.info.storage_id)
        and object_format in (0, item.info.object_format)
        and (not parent or item.parent == wanted)
    ]


def get_num_objects(host: Host, parameters: Parameters, _: bytes) -> Reply:
    handles = handles_listed(host, parameters)
    return Reply(handles) if isinstance(handles, Response) else Reply(parameters=(len(handles),))


def get_object_handles(host: Host, parameters: Parameters, _: bytes) -> Reply:
    handles = handles_listed(host, parameters)
    return Reply(handles) if isinstance(handles, Response) else Reply(data=pack_array(DataType.UINT32, handles))


def get_object_info(host: Host, parameters: Parameters, _: bytes) -> Reply:
    host.body.objects_told += 1
    slow = host.body.faults.take("slow_listing")
    if slow:
        host.body.clock.wait(slow.number("seconds"))
    item = host.body.card.find(parameters[0])
    return Reply(data=pack_object_info(item.info)) if item else Reply(Response.InvalidObjectHandle)


def file_at(host: Host, handle: int) -> StoredObject | None:
    item = host.body.card.find(handle)
    return item if item and item.info.object_format != ObjectFormat.Association else None


def get_object(host: Host, parameters: Parameters, _: bytes) -> Reply:
    item = file_at(host, parameters[0])
    return Reply(data=host.read(item, 0, item.info.size_bytes)) if item else Reply(Response.InvalidObjectHandle)


def get_partial_object(host: Host, parameters: Parameters, _: bytes) -> Reply:
    handle, offset, count = parameters[:3]
    item = file_at(host, handle)
    if not item:
        return Reply(Response.InvalidObjectHandle)
    part = host.read(item, offset, count)
    return Reply(parameters=(len(part),), data=part)


def get_thumb(host: Host, parameters: Parameters, _: bytes) -> Reply:
    item = file_at(host, parameters[0])
    if not item:
        return Reply(Response.InvalidObjectHandle)
    return Reply(data=item.thumb) if item.thumb else Reply(Response.NoThumbnailPresent)


def delete_object(host: Host, parameters: Parameters, _: bytes) -> Reply:
    card = host.body.card
    if parameters[0] == ROOT_HANDLE:
        card.format()
    elif card.find(parameters[0]):
        card.delete(parameters[0])
    else:
        return Reply(Response.InvalidObjectHandle)
    return Reply()


def format_store(host: Host, parameters: Parameters, _: bytes) -> Reply:
    if parameters[0] != STORAGE_ID:
        return Reply(Response.InvalidStorageID)
    host.body.card.format()
    return Reply()
