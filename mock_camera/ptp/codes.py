"""The numbers of the Picture Transfer Protocol that this camera speaks.

Source: the code tables of ISO 15740:2013; the codes marked "vendor extension 0x0000000A" lie in the
ranges which the standard leaves to vendors.
"""

from collections.abc import Sequence
from enum import IntEnum

VENDOR_EXTENSION_ID = 0x0000000A
"""Extension whose live view and focus drive libgphoto2's PTP driver speaks over an IP network."""

STORAGE_ID, SECOND_STORAGE_ID = 0x00010001, 0x00020001
"""Physical stores 1 and 2, logical store 1 of each."""
MEMORY_STORE = 0
"""Of a picture in the body's memory, which is on no card."""

ALL_STORES = 0xFFFFFFFF
ROOT_HANDLE = 0xFFFFFFFF
"""As parent of an object in GetObjectHandles: only objects at the root of the store."""


class Operation(IntEnum):
    """Operation codes, named as in ISO 15740."""

    GetDeviceInfo = 0x1001
    OpenSession = 0x1002
    CloseSession = 0x1003
    GetStorageIDs = 0x1004
    GetStorageInfo = 0x1005
    GetNumObjects = 0x1006
    GetObjectHandles = 0x1007
    GetObjectInfo = 0x1008
    GetObject = 0x1009
    GetThumb = 0x100A
    DeleteObject = 0x100B
    InitiateCapture = 0x100E
    FormatStore = 0x100F
    GetDevicePropDesc = 0x1014
    GetDevicePropValue = 0x1015
    SetDevicePropValue = 0x1016
    GetPartialObject = 0x101B
    # vendor extension 0x0000000A
    DeviceReady = 0x90C8
    StartLiveView = 0x9201
    EndLiveView = 0x9202
    GetLiveViewImage = 0x9203
    DriveManualFocus = 0x9204
    ChangeFocusArea = 0x9205


VENDOR_OPERATIONS = frozenset(code for code in Operation if code >= 0x9000)


class Response(IntEnum):
    """Response codes, named as in ISO 15740."""

    OK = 0x2001
    GeneralError = 0x2002
    SessionNotOpen = 0x2003
    OperationNotSupported = 0x2005
    ParameterNotSupported = 0x2006
    IncompleteTransfer = 0x2007
    InvalidStorageID = 0x2008
    InvalidObjectHandle = 0x2009
    DevicePropNotSupported = 0x200A
    InvalidObjectFormatCode = 0x200B
    StoreFull = 0x200C
    AccessDenied = 0x200F
    NoThumbnailPresent = 0x2010
    StoreNotAvailable = 0x2013
    DeviceBusy = 0x2019
    InvalidParentObject = 0x201A
    InvalidDevicePropFormat = 0x201B
    InvalidDevicePropValue = 0x201C
    InvalidParameter = 0x201D
    SessionAlreadyOpen = 0x201E
    # vendor extension 0x0000000A
    NotLiveView = 0xA00B
    FocusDriveEnd = 0xA00C


class EventCode(IntEnum):
    """Event codes, named as in ISO 15740."""

    ObjectAdded = 0x4002
    ObjectRemoved = 0x4003
    DevicePropChanged = 0x4006
    StoreFull = 0x400A
    StorageInfoChanged = 0x400C
    CaptureComplete = 0x400D


class DevicePropCode(IntEnum):
    """Device property codes, named as in ISO 15740."""

    BatteryLevel = 0x5001
    CompressionSetting = 0x5004
    WhiteBalance = 0x5005
    FNumber = 0x5007
    FocusMode = 0x500A
    FlashMode = 0x500C
    ExposureTime = 0x500D
    ExposureProgramMode = 0x500E
    ExposureIndex = 0x500F
    ExposureBiasCompensation = 0x5010
    DateTime = 0x5011
    CaptureDelay = 0x5012
    # vendor extension 0x0000000A
    ExposureTimeFraction = 0xD100
    LiveViewStatus = 0xD1A2
    LiveViewZoom = 0xD1A3


class DataType(IntEnum):
    """Data type codes of ISO 15740."""

    INT8 = 0x0001
    UINT8 = 0x0002
    INT16 = 0x0003
    UINT16 = 0x0004
    INT32 = 0x0005
    UINT32 = 0x0006
    INT64 = 0x0007
    UINT64 = 0x0008
    STR = 0xFFFF


class ObjectFormat(IntEnum):
    """Object format codes of ISO 15740."""

    Undefined = 0x3000
    Association = 0x3001
    EXIF_JPEG = 0x3801
    TIFF_EP = 0x3802
    JFIF = 0x3808


def struck_as(code: int, parameters: Sequence[int]) -> str:
    """The operation's name in a script of faults; the first part of a file fetched in parts counts as GetObject.

    "" for a code that isn't among `Operation`.
    """
    if code == Operation.GetPartialObject and (len(parameters) < 2 or not parameters[1]):
        return Operation.GetObject.name
    return Operation(code).name if code in set(Operation) else ""
